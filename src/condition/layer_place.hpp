// SPDX-License-Identifier: Apache-2.0
// Where a layer of the crop lies across the laterals. Maps of the crop and of the laterals are a
// metre or more off each other; half a spacing is enough to put what one lateral lacks to the next.
//
// The layer is moved across in steps of 0.15 spacings, up to 0.6 to either side (beyond half a
// spacing what is low is the next lateral's), and lies where holes and crop are likeliest together,
// in a large zone by its coarser model: at the parameters that fit it where it is drawn first, with
// all parameters fitted at the best two. How far off it may be beforehand: normal, half a metre and
// half a pixel (common practice, no source). It is moved where the log posterior gains more than 6
// (the logarithm of the places tried and 3) and that of the crop alone more than 3, for holes that
// contradict a crop would move it too (Schwarz 1978, Ann. Stat. 6:461-464, from memory, for the
// choice).
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/zone_model.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

struct LayerPlace {
  double across_m = 0;  ///< on the ground, to where rows of the grid ascend
  double gain = 0;      ///< in log posterior over where it is drawn
};

/// The crop's data with the layer moved so far; the same data at every place.
using CropByPlace = std::function<std::vector<CropDatum>(double across_m)>;

/// Nothing where the layer stays as it is drawn.
std::optional<LayerPlace> choose_place(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                                       const CropByPlace& by_place, const ConditionRanges& ranges,
                                       double pixel_m, const Work& work);

/// At most about 2,000 data of a layer, those that lie in the zone wherever it is moved.
CropEvidence told_everywhere(const CropEvidence& layer, const Field& field,
                             const SegmentGrid& grid);

}  // namespace evendrip
