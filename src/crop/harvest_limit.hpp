// SPDX-License-Identifier: Apache-2.0
// How far each record lies inside the limit of what was harvested: strips on a fine grid, gaps
// narrower than a header closed, and exact Euclidean distances to what lies outside (Felzenszwalb &
// Huttenlocher 2012, Theory Comput. 8:415-428).
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"

#include "passes.hpp"

namespace evendrip {

struct HarvestLimit {
  std::vector<double> inside_m;  ///< of each record; NaN where not cutting
  double cell_m = 0;             ///< distances are good to one and a half of it
};

/// `width_m`: of the strips. Nothing where the records lie so far apart that a grid of 25 million
/// cells over them would be coarser than a third of the width.
std::optional<HarvestLimit> harvest_limit(const HarvestLog& log, const DrivenLog& driven,
                                          std::span<const char> cuts, double width_m,
                                          const Work& work);

}  // namespace evendrip
