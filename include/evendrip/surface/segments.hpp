// SPDX-License-Identifier: Apache-2.0
// Means of relative discharge over segments of laterals: what the plants of a strip get, with its
// uncertainty. A mean over some metres is known better than a single emitter there.
#pragma once

#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/surface/discharge_map.hpp"

namespace evendrip {

struct Segment {
  int lateral = -1;
  double from_m = 0;  ///< stations from the supply end
  double to_m = 0;
  Line line;     ///< its course
  Prediction r;  ///< mean over its emitters, as neighbouring emitters share it
};

/// Every lateral of a mapped zone in equal segments of about `length_m` (at least one), the block a
/// mean over the emitters that stand in it, or over its middle where none does. NaN where the zone
/// is not mapped by a model or its mean. Throws std::invalid_argument unless length_m > 0.
std::vector<Segment> segments_of(const Field& field, const DischargeMap& map, double length_m,
                                 const Work& work);

}  // namespace evendrip
