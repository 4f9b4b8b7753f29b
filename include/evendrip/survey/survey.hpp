// SPDX-License-Identifier: Apache-2.0
// What was measured and at which emitter: catch cans, gauges and meter of one survey, placed on the
// laterals and checked.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

enum class EmitterState { runs, drips, none, dug_damage, leak, not_found };
/// The word of the catch-can table: "runs", "dug_damage", ...
std::string to_text(EmitterState state);
/// Nothing for any other word; letter case does not matter.
std::optional<EmitterState> emitter_state_of(std::string_view word);

/// One row of the catch-can table, canonical units; NaN where a cell is empty.
struct CatchRecord {
  std::size_t row = 0;  ///< line in the file
  std::string record;
  std::string lateral;  ///< as declared; empty if by GPS alone
  std::optional<double> station_m;
  std::optional<int> emitter;
  std::optional<Point> fix;  ///< GPS, field CRS
  double fix_accuracy_m = 0;
  std::string pit;
  int place_in_pit = 0;
  int replicate = 1;
  double volume_ml = 0;
  double duration_s = 0;
  double discharge_lph = 0;  ///< 3.6 volume / duration
  std::optional<double> pressure_kpa;
  std::optional<double> water_temp_c;
  EmitterState state = EmitterState::runs;
  std::string seen;
  std::string note;
};

enum class Placement {
  declared,   ///< by lateral and station or emitter, fix agrees or absent
  by_fix,     ///< by GPS, p of its lateral at least 0.95
  ambiguous,  ///< counts in its zone, drawn as a circle, stays out of surfaces
  outside     ///< in no zone; counts nowhere
};

/// One emitter: the mean of its replicates, with its place.
struct MeasuredEmitter {
  std::vector<std::size_t> records;  ///< indices into Survey::records
  std::string name;                  ///< for maps: record of the first replicate
  Site site;                         ///< lateral -1 where ambiguous
  Placement placement = Placement::declared;
  double lateral_probability = 1;  ///< of the lateral chosen
  double position_sd_m = 0;        ///< radius of the circle drawn when ambiguous
  double discharge_lph = 0;        ///< mean of replicates
  int replicates = 1;
  EmitterState state = EmitterState::runs;
  std::string pit;
  /// Damage from digging and emitters not found never count as clogging nor as discharge.
  bool usable() const {
    return state != EmitterState::dug_damage && state != EmitterState::not_found &&
           placement != Placement::outside;
  }
};

struct PressureReading {
  std::size_t row = 0;
  int port = -1;
  double pressure_kpa = 0;
  double gauge_accuracy_kpa = 0;
  std::string running;
  std::string zones_open;
  std::string time;
};

struct MeterReading {
  std::size_t row = 0;
  std::string meter;
  std::vector<int> zones;
  double flow_lph = 0;
  double accuracy_frac = 0.03;
  std::optional<double> reference_flow_lph;
  std::optional<double> reference_pressure_kpa;
};

struct Survey {
  std::string id;
  std::string date;
  std::vector<CatchRecord> records;
  std::vector<MeasuredEmitter> emitters;
  std::vector<PressureReading> pressures;
  std::vector<MeterReading> meter;
  Point common_shift_m;  ///< of the day's fixes against declared places (east, north)
  double common_shift_sd_m = 0;
  int shift_records = 0;    ///< records with both fix and declared place
  double replicate_cv = 0;  ///< error of measuring, from replicates; 0 if there are none
  Doubts doubts;
};

/// Reads and places the survey named `id`, or the only or latest one if empty. Every problem is in
/// `doubts`. Throws InputError if there is no such survey.
Survey read_survey(const Field& field, const std::string& id);

}  // namespace evendrip
