// SPDX-License-Identifier: Apache-2.0
// How much ground is below a threshold: over many equally likely surfaces, since the map of means
// is smoother than any of them and so understates both ends (Journel & Huijbregts 1978, "Mining
// Geostatistics", ch. VII; from memory).
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/surface/discharge_map.hpp"

namespace evendrip {

struct AreaBelow {
  int zone = -1;  ///< -1: all mapped zones together
  double threshold = 0;
  double area_ha = 0;   ///< of the zone or zones, on the ground
  double mean_ha = 0;   ///< below the threshold
  double lower_ha = 0;  ///< 90 % limits
  double upper_ha = 0;
};

/// For each mapped zone and for all together, at both thresholds of discharge. The surface is drawn
/// `draws` times at places along the laterals (at most some hundreds in a zone, evenly spaced).
/// Empty where no model was fitted.
std::vector<AreaBelow> areas_below(const Field& field, const DischargeMap& map, int draws,
                                   std::uint64_t seed, const Work& work);

}  // namespace evendrip
