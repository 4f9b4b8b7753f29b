// SPDX-License-Identifier: Apache-2.0
// Records side by side in neighbouring passes that were driven in opposite directions: what a wrong
// grain travel time pulls apart.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"

#include "passes.hpp"

namespace evendrip {

/// Usual distance between the middle lines of neighbouring passes, ground metres: the header's
/// width where it is logged, else the median distance across to the nearest record of a parallel
/// pass; 0 where there is none.
double pass_spacing_m(const HarvestLog& log, const DrivenLog& driven);

struct RecordPair {
  std::size_t a = 0;
  std::size_t b = 0;
};

/// For each record (of a large log: of one in several, chosen by its number) the nearest one along
/// among those of the same machine's passes that lie 0.5 to 1.6 spacings to the side and head the
/// other way within 30 degrees; no farther ahead or behind than three quarters of a step.
std::vector<RecordPair> opposite_pairs(const HarvestLog& log, const DrivenLog& driven,
                                       double spacing_m, const Work& work);

/// Median difference of the pairs whose values are both known, over the median of their values; 0
/// for fewer than 10 such pairs.
double opposite_difference(std::span<const RecordPair> pairs, std::span<const double> values);

}  // namespace evendrip
