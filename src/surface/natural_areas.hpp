// SPDX-License-Identifier: Apache-2.0
// Sibson's coordinates: the areas that a place, were it a sample, would take from the cells of its
// natural neighbours.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

/// Of one thread; reused from place to place.
class NaturalAreas {
 public:
  /// `candidates` hold all natural neighbours of the origin and may hold more; none is the origin
  /// itself. Area for each candidate, 0 for those that are no neighbours. Nothing when the cell has
  /// no end: the origin is outside the candidates' hull or on its edge.
  std::optional<std::span<const double>> at_origin(std::span<const Point> candidates);

 private:
  bool find_neighbours(std::span<const Point> candidates);
  void outline_cell(std::span<const Point> candidates);
  double area_nearest_to(std::span<const Point> candidates, std::size_t neighbour);

  std::vector<std::size_t> order_;
  std::vector<std::size_t> neighbours_;  ///< candidates, by bearing, turning left
  std::vector<Point> inverted_;
  std::vector<Point> cell_;
  std::vector<Point> part_, cut_;
  std::vector<double> areas_;
};

}  // namespace evendrip
