// SPDX-License-Identifier: Apache-2.0
// How far across the laterals plants draw water. Where laterals wet one body of soil a plant draws
// from several; in beds, or in rows right over them, from its own alone. A reach that is not the
// crop's makes its neighbours ring: what is too sharp for it can only come from differences that
// are not there.
//
// Beside the usual reach a tenth and one of the lateral spacing are tried (common practice, no
// source), each with all parameters fitted, in a large zone by its coarser model. One is taken
// where the log posterior of the parameters gains more than 3 (Schwarz 1978, Ann. Stat. 6:461-464,
// from memory, for the choice).
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

struct ReachChoice {
  double spacings = 0;  ///< standard deviation across, in lateral spacings
  double gain = 0;      ///< in log posterior over the usual reach
  std::vector<CropDatum> data;
};

/// The crop's data by a reach in spacings.
using CropByReach = std::function<std::vector<CropDatum>(double)>;

/// Nothing where the usual reach stays, that of `usual`.
std::optional<ReachChoice> choose_reach(const SegmentGrid& grid,
                                        const std::vector<HoleDatum>& holes,
                                        const std::vector<CropDatum>& usual,
                                        const ConditionRanges& ranges, const CropByReach& by_reach,
                                        const Work& work);

}  // namespace evendrip
