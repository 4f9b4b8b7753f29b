// SPDX-License-Identifier: Apache-2.0
// Figures of a zone's condition that text, tables and JSON tell alike.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "evendrip/report/condition_method.hpp"
#include "evendrip/report/condition_places.hpp"
#include "evendrip/report/story.hpp"

namespace evendrip {

/// A dug emitter as the zone's estimate took it.
struct ConditionHole {
  std::size_t emitter = 0;  ///< index into Survey::emitters
  int row = 0;
  int station = 0;
  double value = 0;    ///< relative discharge as caught
  double plugged = 0;  ///< probability that it is plugged; NaN where not told
};
std::vector<ConditionHole> holes_of(const Story& story, const ZoneState& zone);

/// Emitters by the verdict on their water.
struct VerdictCounts {
  int enough = 0;
  int low = 0;
  int not_known = 0;
  double low_one_by_one = 0;  ///< to be expected, each emitter with its own make and luck
  int all() const { return enough + low + not_known; }
};
VerdictCounts verdicts_in(const Field& field, const ZoneState& zone);

/// A patch of segments with the means of what is told there, weighed by emitters.
struct ToldPatch {
  SegmentPatch patch;
  int emitters = 0;
  double delivery = 0;
  double performance = 0;
};
/// Patches of one verdict, those with most emitters first.
std::vector<ToldPatch> patches_of(const Field& field, const ZoneState& zone, WaterVerdict verdict);

/// A patch where the crop alone, by its shape, tells less than Thresholds::crop_low_below.
struct CropPatchTold {
  SegmentPatch patch;
  double relative = 0;  ///< mean of the relative crop that water's shape explains
};
std::vector<CropPatchTold> low_crop_patches(const Field& field, const ZoneState& zone);

/// Places that a layer calls otherwise than the one that is used.
std::vector<SegmentPatch> contradicted_patches(const ZoneState& zone,
                                               const LayerContradiction& contradiction);

/// Places where the crop, by what follows laterals and stations, was below
/// Thresholds::crop_low_below while irrigation could not show: machine or soil, not water.
std::vector<SegmentPatch> low_before_patches(const Field& field, const ZoneState& zone);

/// "0.9 t/ha (12 % of the median)", in the unit of the layer that the zone used; for an index
/// without a unit or a layer not at hand "12 % of the median".
std::string crop_deficit(const Story& story, const ZoneState& zone, double relative);

/// Whether the shares of the crop's variance were worked out.
bool has_crop_shares(const ZoneState& zone);

/// What one zone was judged by: "holes and the crop layer 2025-yield", "holes, without crop",
/// "crop and gauges only, not verified", "not judged: no laterals".
std::string judged_by(const ZoneState& zone);

}  // namespace evendrip
