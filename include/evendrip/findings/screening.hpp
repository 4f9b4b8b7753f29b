// SPDX-License-Identifier: Apache-2.0
// What gauges and meter say of every zone before anything is dug, the most urgent first.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/field/commissioning.hpp"
#include "evendrip/findings/season_checks.hpp"
#include "evendrip/findings/zone_states.hpp"
#include "evendrip/hydraulics/meter.hpp"

namespace evendrip {

struct ScreenedZone {
  int zone = -1;
  std::vector<Change> changes;
  std::vector<StateBelief> beliefs;  ///< falling probability; sums to 1
  /// The best lies within the rated tolerance or the instrument error, or too little was read; so
  /// also every zone that looks sound but has no record of its flow.
  bool not_told = false;
  std::string verdict;      ///< one plain sentence with how sure
  std::string check_first;  ///< with its caution
  /// Ranks zones: probability that something is wrong times the share of water at stake.
  double urgency = 0;
};

struct Screening {
  std::vector<ScreenedZone> zones;  ///< most urgent first
  Doubts doubts;
};

/// Doubts: those of zone_changes, and "zone_not_read" for a zone without any reading that can be
/// compared.
Screening screen_zones(const Field& field, const Survey& survey, const Expectation& expectation,
                       const std::vector<MeterComparison>& meter,
                       const std::optional<Commissioning>& commissioning);

}  // namespace evendrip
