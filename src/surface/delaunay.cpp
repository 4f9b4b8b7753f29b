// SPDX-License-Identifier: Apache-2.0
#include "delaunay.hpp"

#include <boost/polygon/voronoi.hpp>

#include <algorithm>
#include <cmath>
#include <unordered_map>

namespace evendrip::delaunay {
namespace {

/// How far outside a circle, as a share of its power, still counts as on it: a spare neighbour does
/// no harm, a lost one may.
constexpr double on_circle = 1e-9;

/// Triangles of each vertex of the Voronoi diagram. Where more than three cells meet (spots on one
/// circle) the polygon is cut like a fan: every cut is a Delaunay triangulation.
std::vector<Triangle> dual_of(std::span<const Spot> spots) {
  std::vector<boost::polygon::point_data<std::int32_t>> points;
  points.reserve(spots.size());
  for (const Spot& spot : spots) points.emplace_back(spot.x, spot.y);
  boost::polygon::voronoi_diagram<double> diagram;
  boost::polygon::construct_voronoi(points.begin(), points.end(), &diagram);
  std::vector<Triangle> triangles;
  std::vector<int> ring;
  for (const auto& vertex : diagram.vertices()) {
    ring.clear();
    const auto* edge = vertex.incident_edge();
    do {
      ring.push_back(static_cast<int>(edge->cell()->source_index()));
      edge = edge->rot_next();
    } while (edge != vertex.incident_edge());
    for (std::size_t i = 1; i + 1 < ring.size(); ++i)
      triangles.push_back({{ring[0], ring[i], ring[i + 1]}});
  }
  return triangles;
}

std::uint64_t key_of(int from, int to) {
  return (static_cast<std::uint64_t>(from) << 32) | static_cast<std::uint32_t>(to);
}

void join(std::vector<Triangle>& triangles) {
  std::unordered_map<std::uint64_t, int> edges;
  edges.reserve(3 * triangles.size());
  for (std::size_t t = 0; t < triangles.size(); ++t) {
    for (std::size_t i = 0; i < 3; ++i)
      edges[key_of(triangles[t].corners[i], triangles[t].corners[(i + 1) % 3])] =
          static_cast<int>(t);
  }
  for (Triangle& triangle : triangles) {
    for (std::size_t i = 0; i < 3; ++i) {
      const auto other = edges.find(key_of(triangle.corners[(i + 1) % 3], triangle.corners[i]));
      if (other != edges.end()) triangle.neighbours[i] = other->second;
    }
  }
}

}  // namespace

double twice_area(Point a, Point b, Point c) {
  return (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
}

Mesh::Mesh(std::span<const Spot> spots) {
  places_.reserve(spots.size());
  for (const Spot& spot : spots)
    places_.push_back({static_cast<double>(spot.x), static_cast<double>(spot.y)});
  if (spots.size() < 3) return;
  triangles_ = dual_of(spots);
  join(triangles_);
}

int Mesh::holding(Point p, int start) const {
  if (triangles_.empty()) return -1;
  int at = start;
  for (std::size_t step = 0; step <= triangles_.size(); ++step) {
    const Triangle& triangle = triangles_[size(at)];
    int next = at;
    for (int i = 0; i < 3 && next == at; ++i) {
      if (twice_area(corner(triangle, i), corner(triangle, (i + 1) % 3), p) < 0)
        next = triangle.neighbours[size(i)];
    }
    if (next == at) return at;
    if (next < 0) return -1;
    at = next;
  }
  return by_search(p);
}

/// Where rounding leads the walk in a circle.
int Mesh::by_search(Point p) const {
  for (std::size_t t = 0; t < triangles_.size(); ++t) {
    bool inside = true;
    for (int i = 0; i < 3; ++i)
      inside = inside &&
               twice_area(corner(triangles_[t], i), corner(triangles_[t], (i + 1) % 3), p) >= 0;
    if (inside) return static_cast<int>(t);
  }
  return -1;
}

/// Sign of the determinant of Guibas & Stolfi 1985, ACM Trans. Graph. 4:74-123.
bool Mesh::circle_holds(const Triangle& triangle, Point p) const {
  std::array<Point, 3> r;
  std::array<double, 3> lift;
  for (std::size_t i = 0; i < 3; ++i) {
    const Point c = places_[size(triangle.corners[i])];
    r[i] = {c.x - p.x, c.y - p.y};
    lift[i] = r[i].x * r[i].x + r[i].y * r[i].y;
  }
  double sum = 0;
  double scale = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    const Point& a = r[(i + 1) % 3];
    const Point& b = r[(i + 2) % 3];
    sum += lift[i] * (a.x * b.y - b.x * a.y);
    scale += lift[i] * (std::abs(a.x * b.y) + std::abs(b.x * a.y));
  }
  return sum >= -on_circle * scale;
}

void Mesh::around(Point p, int first, std::vector<int>& found) const {
  found.assign(1, first);
  for (std::size_t i = 0; i < found.size(); ++i) {
    for (const int next : triangles_[size(found[i])].neighbours) {
      if (next < 0 || !circle_holds(triangles_[size(next)], p)) continue;
      if (std::find(found.begin(), found.end(), next) == found.end()) found.push_back(next);
    }
  }
}

}  // namespace evendrip::delaunay
