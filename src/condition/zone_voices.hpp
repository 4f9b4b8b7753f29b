// SPDX-License-Identifier: Apache-2.0
// The layers of the crop as witnesses of one zone: what each may say, and which one is believed.
#pragma once

#include <optional>
#include <vector>

#include "evendrip/condition/zone_data.hpp"
#include "evidence_ages.hpp"
#include "judged_zone.hpp"

namespace evendrip {

/// A layer as data of the zone.
struct Heard {
  std::size_t layer = 0;
  double pixel_m = 1;
  std::vector<CropDatum> data;
  LayerAge age;
  ResponsePrior response;
  /// In the zone, where something was taken out or it was moved.
  std::optional<CropEvidence> freed;
  double roots_reach = usual_roots_reach;

  const CropEvidence& evidence(const ZoneQuestion& q) const {
    return freed ? *freed : q.crops[layer].evidence;
  }
  ConditionRanges ranges(const SegmentGrid& grid) const {
    ConditionRanges ranges = ranges_of(grid, pixel_m);
    ranges.aged_sd = age.change_sd;
    ranges.response = response;
    return ranges;
  }
};

/// Each layer as data, with what it may say; those that can say nothing are left out. What stands
/// in a layer of a time without irrigation, and stripes that run on into another zone, are no water
/// and are taken out of all others. What a layer says of emitters that were worked on between its
/// date and that of the holes is left out. Of a layer that sees single laterals its place and
/// the reach of the roots are chosen (layer_place.hpp, roots_reach.hpp).
std::vector<Heard> heard_in(const ZoneQuestion& q, const std::vector<HoleDatum>& holes,
                            ZoneState& state, const Work& work);

/// Every layer that foretells laterals left out better than the holes alone and in which the true
/// laterals stand out judges the zone. The one that foretells them best is used; where another
/// says otherwise is in ZoneState::contradictions.
const Heard* chosen_layer(const ZoneQuestion& q, const std::vector<HoleDatum>& holes,
                          const std::vector<Heard>& heard, ZoneState& state, const Work& work);

/// Relative crop that the shape of water explains, where no hole verifies it.
void hear_unverified(const ZoneQuestion& q, const std::vector<Heard>& heard, ZoneState& state,
                     const Work& work);

}  // namespace evendrip
