// SPDX-License-Identifier: Apache-2.0
// What gauges and meter say of a zone before anything is dug: named states compete by likelihood.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/field/commissioning.hpp"
#include "evendrip/hydraulics/design_check.hpp"
#include "evendrip/hydraulics/meter.hpp"

namespace evendrip {

/// A change against the reference, as the logarithm of the ratio (flow) or the ratio minus 1
/// (pressures), with its combined instrument error.
struct Change {
  std::string name;   ///< "flow", "pressure before the filter", "pressure at the zone inlet",
                      ///< "pressure at the far end"
  double change = 0;  ///< share: -0.08 is 8 % down
  double sd = 0;
  enum class Against { commissioning, model, neighbours } against = Against::model;
  std::string told;  ///< "7.9 m3/h measured, 9.1 expected at these pressures"
};

/// Rows of the table of gauge and meter changes (common practice, from memory), and the two added
/// ones.
enum class ZoneState {
  sound,                  ///< nothing beyond instrument error
  clogging,               ///< flow down, pressures same or up
  leak,                   ///< flow up, pressures down
  leak_behind_regulator,  ///< flow up, inlet held, end lower
  filter_blocked,         ///< before the filter up, after it down
  supply_fault,           ///< everything down
  main_pinched,           ///< flow down, upstream gauge up, downstream down
  regulator_high,         ///< everything up
  local_break,            ///< end pressures far down in few lines, flow same
  wear,                   ///< flow up slowly, pressures same or down
  meter_worn              ///< flow down, everything else as it was: time a known volume first
};
std::string to_text(ZoneState state);
std::string first_check(ZoneState state);  ///< what to look at first, with its caution

struct StateBelief {
  ZoneState state = ZoneState::sound;
  double probability = 0;
};

struct ScreenedZone {
  int zone = -1;
  std::vector<Change> changes;
  std::vector<StateBelief> beliefs;  ///< falling probability; sums to 1
  bool not_told = false;  ///< the best lies within the rated tolerance or the instrument error
  std::string verdict;    ///< one plain sentence with how sure
  std::string check_first;
  double urgency =
      0;  ///< ranks zones: probability that something is wrong times the share of water at stake
};

struct Screening {
  std::vector<ScreenedZone> zones;  ///< most urgent first
  Doubts doubts;
};

Screening screen_zones(const Field& field, const Survey& survey, const Expectation& expectation,
                       const std::vector<MeterComparison>& meter,
                       const std::optional<Commissioning>& commissioning);

/// Lists for the start and the end of the season; common practice, no source beyond what is named
/// in them.
std::vector<std::string> season_start_checks();
std::vector<std::string> season_end_checks();

}  // namespace evendrip
