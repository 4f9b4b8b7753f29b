// SPDX-License-Identifier: Apache-2.0
// The Delaunay triangulation of places on whole millimetres, as the dual of their Voronoi diagram,
// and the way through it.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip::delaunay {

/// A place in whole millimetres from the origin of its set.
struct Spot {
  std::int32_t x = 0;
  std::int32_t y = 0;
  auto operator<=>(const Spot&) const = default;
};

inline std::size_t size(int n) {
  return static_cast<std::size_t>(n);
}

/// Twice the signed area, above 0 when a, b, c turn left. Coordinates in millimetres.
double twice_area(Point a, Point b, Point c);

struct Triangle {
  std::array<int, 3> corners{};                  ///< spots, turning left
  std::array<int, 3> neighbours = {-1, -1, -1};  ///< across the edge from corner i to i + 1
};

/// Covers the convex hull of the spots; empty when all are on one line. Spots must differ.
class Mesh {
 public:
  explicit Mesh(std::span<const Spot> spots);
  const std::vector<Triangle>& triangles() const { return triangles_; }
  Point corner(const Triangle& triangle, int i) const {
    return places_[size(triangle.corners[size(i)])];
  }
  const std::vector<Point>& places() const { return places_; }  ///< the spots, millimetres
  /// The triangle that holds a place, walking from `start`; -1 outside the hull.
  int holding(Point p, int start) const;
  /// Triangles whose circle holds the place, or all but holds it, from the one that holds it.
  void around(Point p, int first, std::vector<int>& found) const;

 private:
  int by_search(Point p) const;
  bool circle_holds(const Triangle& triangle, Point p) const;

  std::vector<Point> places_;
  std::vector<Triangle> triangles_;
};

}  // namespace evendrip::delaunay
