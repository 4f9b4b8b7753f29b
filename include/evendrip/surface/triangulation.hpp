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

/// Places of samples are taken to the millimetre; samples at the very same one are merged (mean).
/// Exact at the samples; outside their convex hull there is no value (NaN), nor anywhere but at the
/// samples when all are on one line. Throws std::invalid_argument for a place that is not finite or
/// samples more than 1,000 km apart.
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
