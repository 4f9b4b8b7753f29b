// SPDX-License-Identifier: Apache-2.0
#include "catch_table.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "fixes.hpp"
#include "table_reading.hpp"

namespace evendrip {
namespace {

/// More than this share of the rated discharge does not leave a sound emitter.
constexpr double most_of_rated = 3.0;
/// A catch is read well if one graduation is at most this share of it (common practice, no source).
constexpr double graduation_share = 0.02;

struct Columns {
  std::vector<std::string> record, lateral, pit, state, seen, note;
  NumberColumn station, emitter, place_in_pit, replicate;
  NumberColumn volume, mass, duration, pressure, temperature;
};

Columns columns_of(TableReading& table) {
  Columns c;
  c.record = table.texts("record");
  c.lateral = table.texts("lateral");
  c.pit = table.texts("pit");
  c.state = table.texts("state");
  c.seen = table.texts("seen");
  c.note = table.texts("note");
  c.station = table.quantities("station", Dimension::length);
  c.emitter = table.numbers("emitter");
  c.place_in_pit = table.numbers("place_in_pit");
  c.replicate = table.numbers("replicate");
  c.volume = table.quantities("volume", Dimension::volume);
  c.mass = table.quantities("mass", Dimension::mass);
  c.duration = table.quantities("duration", Dimension::time);
  const NumberColumn fill_time = table.quantities("fill_time", Dimension::time);
  if (c.duration.column < 0) c.duration = fill_time;
  c.pressure = table.quantities("pressure", Dimension::pressure);
  c.temperature = table.quantities("water_temp", Dimension::temperature);
  return c;
}

void require_columns(const Columns& c, const std::string& file) {
  if (c.volume.column < 0 && c.mass.column < 0) {
    throw InputError::missing_column(file, "volume_ml (or mass_g)");
  }
  if (c.duration.column < 0) throw InputError::missing_column(file, "duration_s");
}

/// A whole number of 1 or more; nothing, with a problem, for anything else.
std::optional<int> whole(TableReading& table, const NumberColumn& column, std::size_t row) {
  const double value = column.values[row];
  if (std::isnan(value)) return std::nullopt;
  if (value >= 1 && value <= 1e6 && value == std::floor(value)) return static_cast<int>(value);
  table.problem(row, column.heading, "not_a_count", "the cell is no whole number",
                fmt::format("{:g}", value), "1, 2, 3 ...", "Correct the cell");
  return std::nullopt;
}

std::optional<double> given(double value) {
  return std::isnan(value) ? std::nullopt : std::optional<double>(value);
}

EmitterState state_of(TableReading& table, const std::string& text, std::size_t row) {
  if (text.empty()) return EmitterState::runs;
  if (const auto state = emitter_state_of(text)) return *state;
  table.problem(row, "state", "unknown_state", "there is no such state", text,
                "runs, drips, none, dug_damage, leak or not_found", "Correct the cell");
  return EmitterState::runs;
}

bool needs_volume(EmitterState state) {
  return state == EmitterState::runs || state == EmitterState::drips;
}

void read_catch(TableReading& table, const Columns& c, std::size_t row, CatchRecord& record) {
  const bool by_mass = std::isnan(c.volume.values[row]) && c.mass.column >= 0;
  const NumberColumn& column = by_mass ? c.mass : c.volume;
  record.volume_ml = column.values[row];
  record.duration_s = c.duration.values[row];
  const double nan = std::numeric_limits<double>::quiet_NaN();
  if (std::isnan(record.volume_ml) && needs_volume(record.state)) {
    table.problem(row, column.heading, "volume_missing", "nothing was caught or it was not noted",
                  "", "a volume, or state none, dug_damage or not_found", "Fill in the cell");
  }
  if (record.volume_ml < 0) {
    table.problem(row, column.heading, "volume_negative", "a volume cannot be negative",
                  fmt::format("{:g} mL", record.volume_ml), "0 or more", "Correct the cell");
    record.volume_ml = nan;
  }
  if (record.state == EmitterState::none && std::isnan(record.volume_ml)) record.volume_ml = 0;
  if (record.state == EmitterState::none && record.volume_ml > 0) {
    table.doubt(row, "state", "state_contradicts_volume",
                "the state says that no water came, but there is a volume",
                fmt::format("{:g} mL", record.volume_ml), "0 mL, or state drips or runs",
                "The volume is used");
  }
  if (record.duration_s <= 0 || (std::isnan(record.duration_s) && record.volume_ml > 0)) {
    table.problem(row, c.duration.heading, "duration_zero", "a catch needs a duration",
                  std::isnan(record.duration_s) ? "" : fmt::format("{:g} s", record.duration_s),
                  "more than 0 s", "Fill in how long the can stood under the emitter");
    record.duration_s = nan;
  }
  record.discharge_lph = record.volume_ml == 0 && std::isnan(record.duration_s)
                             ? 0
                             : 3.6 * record.volume_ml / record.duration_s;
}

CatchRecord record_of(TableReading& table, const Columns& c, std::size_t row) {
  CatchRecord record;
  record.row = table.line(row);
  record.record = c.record[row].empty() ? fmt::format("{}", record.row) : c.record[row];
  record.lateral = c.lateral[row];
  record.station_m = given(c.station.values[row]);
  record.emitter = whole(table, c.emitter, row);
  record.pit = c.pit[row];
  record.place_in_pit = whole(table, c.place_in_pit, row).value_or(0);
  record.replicate = whole(table, c.replicate, row).value_or(1);
  record.state = state_of(table, c.state[row], row);
  record.seen = c.seen[row];
  record.note = c.note[row];
  record.pressure_kpa = given(c.pressure.values[row]);
  record.water_temp_c = given(c.temperature.values[row]);
  read_catch(table, c, row, record);
  return record;
}

/// The specification that a record is compared with: of its lateral's zone, else of the first.
const Zone& zone_of(const Field& field, const CatchRecord& record) {
  for (const Lateral& lateral : field.laterals) {
    if (lateral.id == record.lateral) return field.zones[static_cast<std::size_t>(lateral.zone)];
  }
  return field.zones.front();
}

/// What would explain a column of catches whose median is this multiple of the rated discharge.
std::string catch_slip(double ratio) {
  const auto sound = [ratio](double factor) {
    return ratio * factor >= 0.3 && ratio * factor <= 2;
  };
  if (sound(1000)) return "litres were written where the heading says mL";
  if (sound(0.001)) return "mL were written where the heading says litres";
  if (sound(1.0 / 60)) return "minutes were written where the heading says seconds";
  if (sound(60)) return "seconds were written where the heading says minutes";
  return {};
}

/// Too much for a sound emitter: the column if most of it is, else row by row.
void check_discharges(TableReading& table, const Columns& c, const Field& field,
                      const std::vector<CatchRecord>& records) {
  if (field.zones.empty()) return;
  std::vector<double> ratios(records.size(), std::numeric_limits<double>::quiet_NaN());
  std::vector<double> flowing;
  for (std::size_t i = 0; i < records.size(); ++i) {
    const double rated = zone_of(field, records[i]).emitter.discharge_lph;
    if (!(rated > 0) || !needs_volume(records[i].state)) continue;
    ratios[i] = records[i].discharge_lph / rated;
    if (ratios[i] > 0) flowing.push_back(ratios[i]);
  }
  if (flowing.empty()) return;
  const std::string& heading = c.volume.column >= 0 ? c.volume.heading : c.mass.heading;
  const double middle = median_of(flowing);
  const std::string slip = catch_slip(middle);
  if ((middle > most_of_rated || middle < 0.05) && !slip.empty() && flowing.size() >= 3) {
    Place place = table.place(0, heading);
    place.row = 1;
    table.tell({"wrong_unit", Severity::problem, place,
                "the catches would fit the rated discharge if " + slip,
                fmt::format("a median of {:.4g} times the rated discharge", middle), "about 1 time",
                "Correct the unit in the heading, or the numbers"});
    return;
  }
  for (std::size_t i = 0; i < records.size(); ++i) {
    if (!(ratios[i] > most_of_rated)) continue;
    const std::string one = catch_slip(ratios[i]);
    table.problem(
        i, heading, one.empty() ? "impossible_volume" : "wrong_unit",
        one.empty() ? "the catch is more than a sound emitter gives"
                    : "the catch is more than a sound emitter gives; it would fit if " + one,
        fmt::format("{:.4g} L/h, {:.3g} times rated", records[i].discharge_lph, ratios[i]),
        fmt::format("at most {:g} times rated, or state leak", most_of_rated),
        "Check volume, duration and their units");
  }
}

void check_pressures(TableReading& table, const Columns& c, const Field& field,
                     const std::vector<CatchRecord>& records) {
  if (c.pressure.column < 0 || field.zones.empty()) return;
  std::vector<PlausibleRange> ranges;
  for (const CatchRecord& record : records) {
    const Zone& zone = zone_of(field, record);
    const double expected =
        zone.inlet_pressure_kpa > 0 ? zone.inlet_pressure_kpa : zone.emitter.pressure_kpa;
    ranges.push_back({Dimension::pressure,
                      0,
                      1500,
                      0.25 * expected,
                      3 * expected,
                      {{"kPa", "psi"}, {"psi", "kPa"}, {"kPa", "bar"}, {"bar", "kPa"}}});
  }
  table.check_plausible(c.pressure, ranges);
}

void check_temperatures(TableReading& table, const Columns& c) {
  if (c.temperature.column < 0) return;
  const PlausibleRange range{Dimension::temperature, 0, 80, 1, 45, {{"degC", "degF"}}};
  table.check_plausible(c.temperature, std::vector<PlausibleRange>(table.rows(), range));
}

void tell_graduation(TableReading& table, const Columns& c, const SurveySource& source,
                     const std::vector<CatchRecord>& records) {
  if (!(source.volume_graduation_ml > 0)) return;
  std::size_t coarse = 0;
  std::size_t first = 0;
  for (std::size_t i = 0; i < records.size(); ++i) {
    const double volume = records[i].volume_ml;
    if (!(volume > 0) || source.volume_graduation_ml <= graduation_share * volume) continue;
    if (coarse++ == 0) first = i;
  }
  if (coarse == 0) return;
  table.tell({"graduation_coarse", Severity::note, table.place(first, c.volume.heading),
              fmt::format("{} of {} catches are small for the can's graduation of {:g} mL", coarse,
                          records.size(), source.volume_graduation_ml),
              fmt::format("{:g} mL", records[first].volume_ml),
              fmt::format("at least {:g} mL", source.volume_graduation_ml / graduation_share),
              "Catch longer, or use a finer cylinder"});
}

void tell_repeated_names(TableReading& table, const Columns& c) {
  std::map<std::string, std::size_t> first;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (c.record[row].empty()) continue;
    const auto [at, is_new] = first.emplace(c.record[row], table.line(row));
    if (is_new) continue;
    table.problem(row, "record", "record_twice",
                  fmt::format("the record stands in row {} too", at->second), c.record[row],
                  "a name that no other record has", "Rename it, or remove the copy");
  }
}

}  // namespace

CatchTable catch_table(const Field& field, const SurveySource& source, Doubts& doubts) {
  if (!source.catch_cans) return {};
  const FileRef& file = *source.catch_cans;
  TableReading table(file, field.columns, doubts);
  const Columns columns = columns_of(table);
  require_columns(columns, file.as_written);
  CatchTable result;
  result.numbers_replicates = columns.replicate.column >= 0;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    result.records.push_back(record_of(table, columns, row));
  }
  tell_repeated_names(table, columns);
  read_fixes(table, field, source, result.records);
  table.finish();
  check_discharges(table, columns, field, result.records);
  check_pressures(table, columns, field, result.records);
  check_temperatures(table, columns);
  tell_graduation(table, columns, source, result.records);
  return result;
}

}  // namespace evendrip
