// SPDX-License-Identifier: Apache-2.0
// Faults of pipes in words.
#pragma once

#include <string>
#include <vector>

#include "evendrip/condition/network_faults.hpp"
#include "evendrip/hydraulics/zone_network.hpp"

namespace evendrip {

/// "lateral L12: inlet narrowed", "laterals L12 to L15: shut at 45 m", "manifold M1: narrowed at
/// 60 m, between the joints of L40 and L41"; stations in the units of the field's reports.
std::string fault_words(const Field& field, const ZoneNetwork& network, const SharedFault& shared);

/// The same with what is left: "..., delivery beyond it 71 % of clean".
std::string fault_words(const Field& field, const ZoneNetwork& network, const SharedFault& shared,
                        double delivery);

/// "; it may lie anywhere from manifold M1, 17 m, between the joints of L14 and L15, to manifold
/// M1, 31 m, ...": of the places that hold nine tenths of the weight those that take most and least
/// of the water. Empty where they are one in words.
std::string reach_words(const Field& field, const ZoneNetwork& network,
                        const std::vector<LikelyPlace>& places);

}  // namespace evendrip
