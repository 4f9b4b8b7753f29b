// SPDX-License-Identifier: Apache-2.0
// Which state of a zone explains the changes that gauges and meter show: named states compete by
// likelihood, and Bayes' rule weighs them.
//
// Each state says of each kind of evidence whether it goes down, stays or goes up. "Stays" is a
// normal density about no change; "down" and "up" have a size (log-normal) and are blurred by the
// error of measuring. A gauge that was not read drops out. The table of states is common practice,
// from memory, and so are the prior shares; sizes are common practice, no source.
#pragma once

#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/units/quantity.hpp"

namespace evendrip {

/// What can be compared. Flow and far ends have two forms, of which one is used: where the inlet
/// pressure is known, they are compared with what that pressure explains, so that a system that
/// merely runs at another pressure does not look changed twice.
enum class Evidence {
  flow_as_metered,   ///< no inlet pressure to correct it with
  flow_at_pressure,  ///< against the flow at the measured inlet pressure
  before_filter,
  after_filter,
  before_valve,  ///< main or inlet of the zone's valve
  zone_inlet,
  far_end_as_read,   ///< no inlet pressure to compare with
  far_end_at_inlet,  ///< against what the measured inlet pressure leaves there
  weakest_end        ///< the lowest far end against the others of its zone
};
inline constexpr int evidence_kinds = 9;
std::string to_text(Evidence evidence);  ///< "pressure at the zone inlet"

/// A change against the reference, with its error.
struct Change {
  Evidence evidence = Evidence::flow_at_pressure;
  double change = 0;         ///< ratio minus 1: -0.08 is 8 % down
  double sd = 0;             ///< standard deviation of `change`, reference included
  double instrument_sd = 0;  ///< the part of `sd` that gauges and meter of today bring
  enum class Against {
    commissioning,
    statement,
    rating,
    rule,
    model,
    neighbours
  } against = Against::model;
  Dimension dimension = Dimension::pressure;
  double measured = std::numeric_limits<double>::quiet_NaN();  ///< canonical unit
  double reference = std::numeric_limits<double>::quiet_NaN();
  std::string told;  ///< "7.9 m3/h measured, 9.1 m3/h expected at this pressure", report units
};
std::string to_text(Change::Against against);

enum class ScreenedState {
  sound,                  ///< nothing beyond the error of measuring
  clogging,               ///< flow down, pressures same or up
  leak,                   ///< flow up, pressures down
  leak_behind_regulator,  ///< flow up, inlet held, end lower
  filter_blocked,         ///< before the filter up, after it down
  supply_fault,           ///< everything down
  main_pinched,           ///< flow down, upstream gauge up, downstream down
  regulator_high,         ///< everything up
  local_break,            ///< a few lines' ends far down, flow same
  wear,                   ///< flow a little up, pressures same or down
  meter_worn              ///< flow down, everything else as it was
};
inline constexpr int zone_states = 11;
std::string to_text(ScreenedState state);     ///< "emitters clogging"
std::string state_code(ScreenedState state);  ///< "clogging": for machines
/// What to look at first, with its caution.
std::string first_check(ScreenedState state);

struct StateBelief {
  ScreenedState state = ScreenedState::sound;
  double probability = 0;
};

/// Share of zones in that state before anything is read; they sum to 1.
double prior_share(ScreenedState state);
/// All states by falling probability, which sum to 1; of equal ones the order of the enum. Changes
/// that are not finite drop out; a standard deviation below 0.5 % counts as 0.5 %.
std::vector<StateBelief> state_beliefs(std::span<const Change> changes);

/// Whether some way in which the state shows moves that evidence in the direction of `change`.
bool explains(ScreenedState state, Evidence evidence, double change);
/// The evidence, of kinds not among `known`, whose expected shares of down, same and up differ most
/// between two states: what to read next to tell them apart. Nothing where all are known or none
/// would tell.
std::optional<Evidence> deciding_evidence(ScreenedState one, ScreenedState other,
                                          std::span<const Change> known);

}  // namespace evendrip
