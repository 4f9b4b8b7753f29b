// SPDX-License-Identifier: Apache-2.0
// A judged zone as one system: its meter, its mean delivery and its uniformity.
#pragma once

#include <vector>

#include "judged_zone.hpp"

namespace evendrip {

/// The meter as a datum on the zone's mean; nothing where none speaks of it alone.
void listen_to_meter(const ZoneQuestion& q, const ZoneModel& model, ZoneState& state);

/// Uniformity and mean delivery by draws and, where a meter was read, how it agrees with what the
/// rest says.
void draw_system(const ZoneQuestion& q, const ZoneModel& model, const std::vector<HoleDatum>& holes,
                 ZoneState& state);

}  // namespace evendrip
