// SPDX-License-Identifier: Apache-2.0
// Who neighbours whom, as compressed rows of a weight matrix W with nothing on its diagonal.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/shapes.hpp"

namespace evendrip {

struct NeighbourWeights {
  std::vector<std::size_t> begins;  ///< items + 1; row i is [begins[i], begins[i + 1])
  std::vector<int> neighbours;      ///< ascending within a row
  std::vector<double> weights;

  std::size_t items() const { return begins.empty() ? 0 : begins.size() - 1; }
};

/// All pairs from above `beyond_m` to `within_m` apart, weight 1 over their number in each row (row
/// standardised); a place without neighbours has an empty row. Throws std::invalid_argument for a
/// distance not above 0 or a place that is not finite.
NeighbourWeights neighbours_within(std::span<const Point> places, double within_m, const Work& work,
                                   double beyond_m = -1);

}  // namespace evendrip
