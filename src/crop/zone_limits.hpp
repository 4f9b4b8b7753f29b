// SPDX-License-Identifier: Apache-2.0
// Zones that are low as a whole: a sharp step all along the limits that they share with others,
// against the same outline moved and turned over the field.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "evendrip/field/field.hpp"
#include "screened_ground.hpp"

namespace evendrip {

struct ZoneStep {
  int zone = -1;
  double step = 0;   ///< mean fall into the zone, relative
  double share = 0;  ///< of the places along the limit where it falls
  double score = 0;
  double level = 1;  ///< mean of the zone over that of all others
  double p = 1;      ///< rank among the best of moved outlines over all zones
};

/// Zones that fall sharply from those beside them, the surest first. None where zones do not touch.
std::vector<ZoneStep> low_zones(const Field& field, const ScreenedGround& ground, double resolved_m,
                                int draws, std::uint64_t seed, const Work& work);

}  // namespace evendrip
