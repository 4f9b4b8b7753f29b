// SPDX-License-Identifier: Apache-2.0
#include "gauges.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "table_reading.hpp"

namespace evendrip {
namespace {

/// Before this, lines may still be filling; common practice, no source.
constexpr double steady_after_s = 600;
/// No gauge reads below a full vacuum.
constexpr double vacuum_kpa = -101.325;

int port_index(const Field& field, const std::string& id) {
  for (std::size_t i = 0; i < field.ports.size(); ++i) {
    if (field.ports[i].id == id) return static_cast<int>(i);
  }
  return -1;
}

template <typename Items>
std::string id_list(const Items& items) {
  std::string text;
  for (const auto& item : items) text += (text.empty() ? "" : ", ") + item.id;
  return text.empty() ? "an id, but the field has none" : text;
}

/// Pressure to compare a port's reading with: its zone's inlet, else the rated pressure.
double expected_kpa(const Field& field, int port) {
  const auto& zones = field.ports[static_cast<std::size_t>(port)].zones;
  const Zone& zone = field.zones[zones.empty() ? 0 : static_cast<std::size_t>(zones.front())];
  return zone.inlet_pressure_kpa > 0 ? zone.inlet_pressure_kpa : zone.emitter.pressure_kpa;
}

void check_pressures(TableReading& table, const NumberColumn& pressure, const Field& field,
                     const std::vector<int>& ports) {
  if (field.zones.empty()) return;
  std::vector<PlausibleRange> ranges;
  for (const int port : ports) {
    const double kpa =
        port >= 0 ? expected_kpa(field, port) : field.zones.front().emitter.pressure_kpa;
    // Pumps and filters work well above the zones; a flushed end well below, a starved one even
    // below the pressure of the air.
    ranges.push_back({Dimension::pressure,
                      vacuum_kpa,
                      2000,
                      0.16 * kpa,
                      6 * kpa,
                      {{"kPa", "psi"}, {"psi", "kPa"}, {"kPa", "bar"}, {"bar", "kPa"}}});
  }
  table.check_plausible(pressure, ranges);
}

std::optional<double> register_volume_ml(const std::string& unit) {
  const Heading heading = parse_heading("volume_" + unit, "volume", Dimension::volume);
  try {
    return to_canonical(1, heading.unit.empty() ? std::string_view(unit) : heading.unit,
                        Dimension::volume);
  } catch (const InputError&) {
    return std::nullopt;
  }
}

struct MeterColumns {
  std::vector<std::string> meter, zones, unit;
  NumberColumn flow, start, end, duration, accuracy, after_start, reference_flow,
      reference_pressure;
};

MeterColumns meter_columns(TableReading& table) {
  MeterColumns c;
  c.meter = table.texts("meter");
  c.zones = table.texts("zones");
  c.unit = table.texts("reading_unit");
  c.flow = table.quantities("flow", Dimension::discharge);
  c.start = table.numbers("start_reading");
  c.end = table.numbers("end_reading");
  c.duration = table.quantities("duration", Dimension::time);
  c.accuracy = table.quantities("accuracy", Dimension::fraction);
  if (table.has("minutes_after_start")) {
    c.after_start = table.numbers("minutes_after_start");
    for (double& value : c.after_start.values) value = to_canonical(value, "min", Dimension::time);
  }
  c.reference_flow = table.quantities("reference_flow", Dimension::discharge);
  c.reference_pressure = table.quantities("reference_pressure", Dimension::pressure);
  return c;
}

/// Flow between two register readings, L/h; nothing, with a problem, if they cannot be used.
std::optional<double> register_flow_lph(TableReading& table, const MeterColumns& c,
                                        std::size_t row) {
  const auto volume_ml = register_volume_ml(c.unit[row]);
  if (!volume_ml) {
    table.problem(row, "reading_unit", "unknown_reading_unit", "there is no such register unit",
                  c.unit[row], "m3, L, gal, gal_x100, acre_inch ...", "Correct the cell");
    return std::nullopt;
  }
  const double hours = from_canonical(c.duration.values[row], "h", Dimension::time);
  if (!(hours > 0)) {
    table.problem(row, "duration_min", "duration_zero", "two readings need the time between them",
                  std::isnan(hours) ? "" : fmt::format("{:g} h", hours), "more than 0",
                  "Fill in the cell");
    return std::nullopt;
  }
  const double difference = c.end.values[row] - c.start.values[row];
  if (!(difference >= 0)) {
    table.problem(row, "end_reading", "register_runs_back",
                  "the end reading is below the start reading", fmt::format("{:g}", difference),
                  "an end reading of at least the start reading",
                  "Check both; add the register's turn-over if it passed zero");
    return std::nullopt;
  }
  return from_canonical(difference * *volume_ml, "L", Dimension::volume) / hours;
}

std::optional<double> flow_lph(TableReading& table, const MeterColumns& c, std::size_t row) {
  const double stated = c.flow.values[row];
  const bool has_register = !std::isnan(c.start.values[row]) && !std::isnan(c.end.values[row]);
  if (std::isnan(stated) && !has_register) {
    table.problem(row, "flow_m3_h", "flow_missing", "the row states no flow", "",
                  "flow_m3_h, or start_reading, end_reading, reading_unit and duration_min",
                  "Fill in the cells");
    return std::nullopt;
  }
  if (stated < 0) {
    table.problem(row, c.flow.heading, "flow_negative", "a flow cannot be negative",
                  fmt::format("{:g} L/h", stated), "0 or more", "Correct the cell");
    return std::nullopt;
  }
  if (!has_register) return stated;
  const auto counted = register_flow_lph(table, c, row);
  if (std::isnan(stated) || !counted) return counted;
  if (std::abs(stated - *counted) > 0.05 * std::max(stated, *counted)) {
    table.doubt(row, c.flow.heading, "flow_contradicts_register",
                "the stated flow and the register differ by more than 5 %",
                fmt::format("{:.4g} L/h", stated), fmt::format("{:.4g} L/h", *counted),
                "The register is used");
  }
  return counted;
}

std::vector<int> zones_of(TableReading& table, const Field& field, const std::string& text,
                          std::size_t row) {
  std::vector<int> found;
  std::string id;
  for (const char character : text + " ") {
    if (character != ' ' && character != ',' && character != ';' && character != '+') {
      id += character;
      continue;
    }
    if (id.empty()) continue;
    const auto zone = std::find_if(field.zones.begin(), field.zones.end(),
                                   [&](const Zone& z) { return z.id == id; });
    if (zone != field.zones.end()) {
      found.push_back(static_cast<int>(zone - field.zones.begin()));
    } else {
      table.problem(row, "zones", "unknown_zone", "there is no zone of that name", id,
                    id_list(field.zones), "Correct the cell");
    }
    id.clear();
  }
  if (text.empty()) {
    table.problem(row, "zones", "zones_missing", "the row does not say which zones ran", "",
                  id_list(field.zones), "Name the zones that ran together");
  }
  return found;
}

/// Flow far from that of all emitters of the zones at their rated discharge.
void check_flow(TableReading& table, const MeterColumns& c, const Field& field,
                const MeterReading& reading, std::size_t row) {
  double rated = 0;
  for (const Lateral& lateral : field.laterals) {
    if (std::find(reading.zones.begin(), reading.zones.end(), lateral.zone) !=
        reading.zones.end()) {
      rated += lateral.emitters *
               field.zones[static_cast<std::size_t>(lateral.zone)].emitter.discharge_lph;
    }
  }
  if (!(rated > 0) || (reading.flow_lph >= 0.2 * rated && reading.flow_lph <= 3 * rated)) return;
  table.doubt(row, c.flow.column >= 0 ? c.flow.heading : "end_reading", "flow_far_from_rated",
              "the flow is far from that of all emitters at their rated discharge",
              fmt::format("{:.4g} L/h", reading.flow_lph), fmt::format("about {:.4g} L/h", rated),
              "Check the unit, the register's factor, and which zones ran");
}

std::optional<double> given(const NumberColumn& column, std::size_t row) {
  if (column.column < 0 || std::isnan(column.values[row])) return std::nullopt;
  return column.values[row];
}

}  // namespace

std::vector<PressureReading> pressure_readings(const Field& field, const SurveySource& source,
                                               Doubts& doubts) {
  if (!source.pressures) return {};
  const FileRef& pressures = *source.pressures;
  TableReading table(pressures, field.columns, doubts);
  const auto port = table.texts("port");
  const auto running = table.texts("running");
  const auto zones_open = table.texts("zones_open");
  const auto time = table.texts("time");
  const NumberColumn pressure = table.quantities("pressure", Dimension::pressure);
  const NumberColumn accuracy = table.quantities("gauge_accuracy", Dimension::pressure);
  table.finish();
  const std::string& file = pressures.as_written;
  if (!table.has("port")) throw InputError::missing_column(file, "port");
  if (pressure.column < 0) throw InputError::missing_column(file, "pressure_kpa");

  std::vector<PressureReading> readings;
  std::vector<int> ports;
  std::set<std::string> seen;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const int index = port_index(field, port[row]);
    ports.push_back(index);
    if (index < 0) {
      table.problem(row, "port", "unknown_port", "there is no such port", port[row],
                    id_list(field.ports), "Correct the cell, or the ids in [layers] ports");
    }
    if (std::isnan(pressure.values[row])) {
      table.problem(row, pressure.heading, "pressure_missing", "the row has no pressure", "",
                    "a pressure", "Fill in the cell, or remove the row");
    }
    if (!running[row].empty() && running[row] != "irrigating" && running[row] != "flushing") {
      table.doubt(row, "running", "unknown_running", "what ran is not understood", running[row],
                  "irrigating or flushing", "It counts as irrigating");
    }
    const std::string key =
        port[row] + "|" + running[row] + "|" + zones_open[row] + "|" + time[row];
    if (!seen.insert(key).second) {
      table.doubt(row, "port", "duplicate_reading", "the port was read twice in the same state",
                  port[row], "one row for each reading", "Add the time, or remove the copy");
    }
    if (index < 0 || std::isnan(pressure.values[row])) continue;
    readings.push_back({table.line(row), index, pressure.values[row],
                        given(accuracy, row).value_or(0), running[row], zones_open[row],
                        time[row]});
  }
  check_pressures(table, pressure, field, ports);
  return readings;
}

std::vector<MeterReading> meter_readings(const Field& field, const SurveySource& source,
                                         Doubts& doubts) {
  if (!source.meter) return {};
  const FileRef& meter = *source.meter;
  TableReading table(meter, field.columns, doubts);
  const MeterColumns c = meter_columns(table);
  table.finish();
  if (c.flow.column < 0 && c.end.column < 0) {
    throw InputError::missing_column(meter.as_written,
                                     "flow_m3_h (or start_reading and end_reading)");
  }
  std::vector<MeterReading> readings;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    MeterReading reading;
    reading.row = table.line(row);
    reading.meter = c.meter[row];
    reading.zones = zones_of(table, field, c.zones[row], row);
    reading.accuracy_frac = given(c.accuracy, row).value_or(reading.accuracy_frac);
    reading.reference_flow_lph = given(c.reference_flow, row);
    reading.reference_pressure_kpa = given(c.reference_pressure, row);
    const auto after = given(c.after_start, row);
    if (after && *after < steady_after_s) {
      table.doubt(
          row, "minutes_after_start", "lines_may_be_filling",
          "the meter was read soon after the start; lines may still have been filling",
          fmt::format("{:g} min", from_canonical(*after, "min", Dimension::time)),
          fmt::format("{:g} min or more", from_canonical(steady_after_s, "min", Dimension::time)),
          "Read it again when pressures are steady");
    }
    const auto flow = flow_lph(table, c, row);
    if (!flow) continue;
    reading.flow_lph = *flow;
    check_flow(table, c, field, reading, row);
    readings.push_back(std::move(reading));
  }
  return readings;
}

}  // namespace evendrip
