// SPDX-License-Identifier: Apache-2.0
// Grain travel time of a harvester, from the log itself. Grain that is measured at a time was cut a
// travel time before; in neighbouring passes driven in opposite directions a wrong time pulls the
// same place apart in opposite ways, so their yields agree best at the right one. The idea of
// matching opposite passes: Chung, Sudduth & Drummond 2002, Trans. ASAE 45 (phase correlation, from
// memory); the measure, its clipping and the test whether it tells anything are ours.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/crop/cleaning.hpp"

#include "opposite_passes.hpp"
#include "passes.hpp"

namespace evendrip {

/// How much grain each record measured in a second, in t/ha x m2/s; NaN where unknown. By the
/// yield, area and time as logged or, where a record has no area, by its mass flow.
std::vector<double> grain_rates(const HarvestLog& log, const DrivenLog& driven);

/// Rates moved back by a travel time of each machine: at each record that which was measured
/// `travel_s` later, between the two records around that time; NaN where none is near it. Records
/// of which none is wanted: give all.
std::vector<double> moved_back(const DrivenLog& driven, std::span<const double> rates,
                               std::span<const double> travel_s);

/// Yields of rates at each record's own speed and `width_m` (1 where there is none logged).
std::vector<double> yields_of(const HarvestLog& log, const DrivenLog& driven,
                              std::span<const double> rates);

/// Of one machine (its number among those of `driven`). `used_s` is 0 and `estimated` false where
/// the log cannot tell: fewer than 50 pairs, a curve that is lowest at an end or no lower anywhere
/// than chance makes it, or a least that moves when a part of the passes is left out.
TravelTime estimated_travel_time(const HarvestLog& log, const DrivenLog& driven,
                                 std::span<const double> rates, std::span<const RecordPair> pairs,
                                 std::size_t machine, double longest_s, const Work& work);

}  // namespace evendrip
