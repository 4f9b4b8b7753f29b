// SPDX-License-Identifier: Apache-2.0
// A zone in little, to choose between ways to look at a layer of its crop: in a large zone by its
// coarser model, of many data by some of them.
#pragma once

#include <optional>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

ZoneModel quick_model(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                      const std::vector<CropDatum>& crop, const ConditionRanges& ranges);

/// Its parameters from one start; nothing where none fit.
std::optional<ConditionFit> quick_fit(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                                      const std::vector<CropDatum>& crop,
                                      const ConditionRanges& ranges,
                                      const ConditionParameters& start, const Work& work);

}  // namespace evendrip
