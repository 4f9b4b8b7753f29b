// SPDX-License-Identifier: Apache-2.0
// Zones that the plugged emitters of a first survey leave possible.
#pragma once

#include <random>
#include <vector>

#include "evendrip/uniformity/plugging.hpp"

namespace evendrip {

/// Share of plugged emitters in a zone, and the correlation of plugging between two emitters of one
/// of its laterals.
struct PluggedZone {
  double share = 0;
  double correlation = 0;
};

/// Drawn from what the counts leave possible: beta-binomial likelihood of the laterals (Williams
/// 1975, Biometrics 31:949-952; from memory); before any count the share has Jeffreys' distribution
/// Beta(1/2, 1/2), and every correlation is as likely.
std::vector<PluggedZone> possible_zones(const PluggedCounts& counts, int zones,
                                        std::mt19937_64& stream);

/// Plugged emitters of a survey of so many laterals with so many emitters on each in such a zone.
PluggedCounts drawn_counts(const PluggedZone& zone, int laterals, int emitters_on_each,
                           std::mt19937_64& stream);

}  // namespace evendrip
