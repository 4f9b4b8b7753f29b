// SPDX-License-Identifier: Apache-2.0
// Estimators on the Delaunay triangulation of the samples: linear within triangles, and natural
// neighbours (Sibson 1981, "A brief description of natural neighbour interpolation").
#pragma once

#include <memory>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/surface/sample.hpp"

namespace evendrip {

/// Samples at the very same place (to the millimetre) are merged (mean). Exact at the samples;
/// outside their convex hull there is no value (NaN).
class Triangulation {
 public:
  explicit Triangulation(const Samples& samples);
  ~Triangulation();
  Triangulation(Triangulation&&) noexcept;
  /// Linear within the triangle that holds the place.
  std::vector<double> linear_at(std::span<const Point> places, const Work& work) const;
  /// Sibson's natural neighbours.
  std::vector<double> natural_neighbour_at(std::span<const Point> places, const Work& work) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace evendrip
