// SPDX-License-Identifier: Apache-2.0
// Laterals: read from a layer or laid out in zones, given their zone, turned so that stations run
// from the supply end, and checked.
#pragma once

#include <vector>

#include "evendrip/field/field.hpp"
#include "layers.hpp"
#include "layout.hpp"

namespace evendrip {

/// Laterals with the feature that each came from, for messages.
struct LateralSet {
  std::vector<Lateral> laterals;
  std::vector<Place> places;
};

/// Zone by attribute or by location, ids unique, from the supply end.
LateralSet laterals_from(const RoleLayer& layer, const Field& field, Doubts& doubts);

/// Parallel lines in every zone, named "<zone>-<number>".
LateralSet laid_out_laterals(const Field& field, const LayoutRequest& request, Doubts& doubts);

/// Length on the ground and number of emitters, from the zone's specification.
LateralSet with_lengths(LateralSet set, const Field& field);

/// Of laterals with their lengths: crossings, lines that cross themselves, lines shorter than the
/// spacing.
Doubts lateral_doubts(const Field& field, const LateralSet& set);

}  // namespace evendrip
