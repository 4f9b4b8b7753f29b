// SPDX-License-Identifier: Apache-2.0
// Where the crop cannot tell water from something else: no verdict stands there, and a hole or a
// gauge decides.
#pragma once

#include <vector>

#include "judged_zone.hpp"

namespace evendrip {

/// Of a log whose passes run along the laterals, a pass that read low looks as weak laterals do.
/// Neighbouring laterals that are low over four fifths of their length and more, none of which was
/// dug and of which the gauges show nothing, are not told from it. The passes drift across them by
/// no more than a swath over their length.
void doubt_passes(const ZoneQuestion& q, const CropEvidence& evidence,
                  const std::vector<HoleDatum>& holes, ZoneState& state);

/// Segments that one layer calls low and another that passed its tests calls enough, each with a
/// chance of four fifths and more.
std::vector<int> contradicted(const ZoneQuestion& q, const SegmentGrid& grid,
                              const ZoneCondition& a, const ZoneCondition& b);
/// Takes the verdict from all segments where layers contradict each other.
void doubt_contradicted(ZoneState& state);

}  // namespace evendrip
