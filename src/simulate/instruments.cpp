// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/instruments.hpp"

#include "evendrip/base/random.hpp"
#include "evendrip/hydraulics/water.hpp"
#include "evendrip/units/quantity.hpp"

#include <fmt/format.h>
#include <boost/random/normal_distribution.hpp>

#include <algorithm>
#include <cmath>
#include <vector>

namespace evendrip {
namespace {

constexpr std::uint64_t gauge_stream = 8;
constexpr std::uint64_t meter_stream = 9;
constexpr std::uint64_t new_gauge_stream = 10;
constexpr std::uint64_t new_meter_stream = 11;

using Normal = boost::random::normal_distribution<double>;

/// A gauge read while one zone runs.
struct Reading {
  std::size_t port = 0;
  int zone = 0;
  std::size_t run = 0;  ///< index into SimulatedPort::zones
};

std::vector<Reading> readings_of(const SimulatedField& field) {
  std::vector<Reading> readings;
  for (int zone = 0; zone < field.plan.zones; ++zone) {
    for (std::size_t i = 0; i < field.ports.size(); ++i) {
      const std::vector<int>& zones = field.ports[i].zones;
      const auto run = std::find(zones.begin(), zones.end(), zone);
      if (run == zones.end()) continue;
      readings.push_back({i, zone, static_cast<std::size_t>(run - zones.begin())});
    }
  }
  return readings;
}

/// With the gauge's error, as if it stood at the height of the line: what comes out of the true
/// pressure when height and accuracy are known.
double seen_kpa(const SimulatedField& field, double true_kpa, std::uint64_t stream_kind,
                std::size_t number) {
  auto stream = item_stream(field.plan.seed, {stream_kind, number});
  return true_kpa + Normal(0, field.plan.gauge_accuracy_kpa)(stream);
}

double metered_lph(const SimulatedField& field, double true_lph, std::uint64_t stream_kind,
                   int zone) {
  auto stream = item_stream(field.plan.seed, {stream_kind, static_cast<std::uint64_t>(zone)});
  return true_lph * (1 + Normal(0, field.plan.meter_accuracy_frac)(stream));
}

double shown_kpa(const SimulatedPort& port, double at_the_line_kpa) {
  return std::max(0.0, at_the_line_kpa - pressure_kpa(port.gauge_height_m));
}

std::string clock_text(int minutes_after_seven) {
  return fmt::format("{:02}:{:02}", 7 + minutes_after_seven / 60, minutes_after_seven % 60);
}

double rounded(double value, double parts_of_one) {
  return std::round(value * parts_of_one) / parts_of_one;
}

}  // namespace

std::string pressure_text(const SimulationPlan& plan, double kpa) {
  if (!plan.us_units) return fmt::format("{:.1f}", kpa);
  return fmt::format("{:.2f}", from_canonical(kpa, "psi", Dimension::pressure));
}

std::string pressure_table(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  const char* unit = plan.us_units ? "psi" : "kpa";
  std::string table =
      fmt::format("port,pressure_{},gauge_accuracy_{},running,zones_open,time\n", unit, unit);
  const std::vector<Reading> readings = readings_of(field);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const SimulatedPort& port = field.ports[readings[i].port];
    const double kpa = seen_kpa(field, port.pressure_kpa[readings[i].run], gauge_stream, i);
    table += fmt::format("{},{},{},irrigating,{},{}\n", port.id,
                         pressure_text(plan, shown_kpa(port, kpa)),
                         pressure_text(plan, plan.gauge_accuracy_kpa),
                         field.zones[static_cast<std::size_t>(readings[i].zone)].id,
                         clock_text(20 + static_cast<int>(i) * 6));
  }
  return table;
}

std::string meter_table(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  std::string table = plan.us_units ? "meter,zones,start_reading,end_reading,reading_unit,"
                                      "duration_min,accuracy_pct,minutes_after_start\n"
                                    : "meter,zones,flow_m3_h,accuracy_pct,minutes_after_start\n";
  double reading_gal = 418230;
  for (int zone = 0; zone < plan.zones; ++zone) {
    const SimulatedZone& here = field.zones[static_cast<std::size_t>(zone)];
    const double flow_lph = metered_lph(field, here.inflow_lph, meter_stream, zone);
    const double accuracy_pct = plan.meter_accuracy_frac * 100;
    if (!plan.us_units) {
      table += fmt::format("M1,{},{:.3f},{:g},40\n", here.id, flow_lph / 1000, accuracy_pct);
      continue;
    }
    constexpr double minutes = 30;
    const double passed_gal =
        from_canonical(flow_lph * 1000 * minutes / 60, "gal", Dimension::volume);
    const double end_gal = std::round(reading_gal + passed_gal);
    table += fmt::format("M1,{},{:.0f},{:.0f},gal,{:g},{:g},40\n", here.id, reading_gal, end_gal,
                         minutes, accuracy_pct);
    reading_gal = end_gal + 55;
  }
  return table;
}

Commissioning commissioning_record(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  Commissioning record;
  record.date = plan.commissioning_date;
  const std::vector<Reading> readings = readings_of(field);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const Reading& reading = readings[i];
    const SimulatedPort& port = field.ports[reading.port];
    const double kpa = seen_kpa(field, port.clean_pressure_kpa[reading.run], new_gauge_stream, i);
    record.pressures.push_back({static_cast<int>(reading.port),
                                {reading.zone},
                                rounded(shown_kpa(port, kpa), 10),
                                rounded(plan.gauge_accuracy_kpa, 100)});
  }
  for (int zone = 0; zone < plan.zones; ++zone) {
    const double flow_lph =
        metered_lph(field, field.zones[static_cast<std::size_t>(zone)].clean_inflow_lph,
                    new_meter_stream, zone);
    record.flows.push_back(
        {"M1", {zone}, rounded(flow_lph, 1), rounded(plan.meter_accuracy_frac * flow_lph, 1)});
  }
  return record;
}

}  // namespace evendrip
