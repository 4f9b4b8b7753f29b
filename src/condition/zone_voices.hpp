// SPDX-License-Identifier: Apache-2.0
// The layers of the crop as witnesses of one zone: what each may say, and which one is believed.
#pragma once

#include <vector>

#include "judged_zone.hpp"

namespace evendrip {

/// A layer as data of the zone.
struct Heard {
  std::size_t layer = 0;
  double pixel_m = 1;
  std::vector<CropDatum> data;
};

/// Each layer as data, with what it may say; those that can say nothing are left out.
std::vector<Heard> heard_in(const ZoneQuestion& q, ZoneState& state, const Work& work);

/// The layer that foretells laterals left out best, if one does better than the holes alone and the
/// true laterals stand out in it. The zone's condition is judged with it, else by the holes alone.
const Heard* chosen_layer(const ZoneQuestion& q, const std::vector<HoleDatum>& holes,
                          const std::vector<Heard>& heard, ZoneState& state, const Work& work);

/// Relative crop that the shape of water explains, where no hole verifies it.
void hear_unverified(const ZoneQuestion& q, const std::vector<Heard>& heard, ZoneState& state,
                     const Work& work);

}  // namespace evendrip
