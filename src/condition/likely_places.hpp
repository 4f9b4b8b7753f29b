// SPDX-License-Identifier: Apache-2.0
// Where a fault that was found may lie. Between a sound hole and a low one, or beyond the last
// gauge that shows it, many places explain the same data; the water that plants get there is not
// known.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "fault_search.hpp"

namespace evendrip {

/// Places of one of the faults found, likeliest first, those less likely than a thousandth of the
/// first left out: every section of the supply manifolds, evenly thinned to 48 of each, or every
/// sixteenth of its laterals and groups a little larger and smaller at its place. All alike likely
/// before; with the severity that fits best, the other faults held, at the parameters that suit the
/// fault where it was found. One place alone of a cut and where others have no steady flow.
std::vector<LikelyPlace> likely_places(FaultSearch& search, std::size_t which,
                                       FaultEvidence& evidence);

/// Fills in the mean and the variance of what is delivered over the places of all faults, each
/// fault for itself; `known`: with every fault where it was found.
void deliver_over_places(const std::vector<double>& known, NetworkExplanation& explanation);

/// Moves every draw of delivery, made about the mean, to faults at one of their places each.
void draw_places(const NetworkExplanation& explanation, std::uint64_t seed,
                 std::vector<std::vector<double>>& draws);

}  // namespace evendrip
