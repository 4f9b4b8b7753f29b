// SPDX-License-Identifier: Apache-2.0
#include "gauge_readings.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <string_view>

#include <fmt/format.h>

#include "evendrip/hydraulics/water.hpp"

namespace evendrip {
namespace {

constexpr double valve_loss_sd_kpa = 2;          // from valve to inlet; common practice, no source
constexpr double unstated_accuracy_frac = 0.02;  // common practice, no source
constexpr double least_unstated_accuracy_kpa = 1;  // likewise
constexpr double coarse_frac = 0.05;

using ZoneSet = std::set<std::string>;

ZoneSet zone_set(std::string_view text) {
  ZoneSet ids;
  std::string id;
  for (const char character : std::string(text) + " ") {
    if (std::string_view(" ,;+").find(character) == std::string_view::npos) {
      id += character;
    } else if (!id.empty()) {
      ids.insert(std::exchange(id, {}));
    }
  }
  return ids;
}

/// Node of a port in the zone's network; the inlet's for a port behind the zone's valve.
std::optional<int> node_of(const Field& field, const ZoneNetwork& network, int port) {
  for (const NetworkPort& known : network.ports) {
    if (known.port == port) return known.node;
  }
  const Port& p = field.ports[static_cast<std::size_t>(port)];
  const bool of_zone = std::find(p.zones.begin(), p.zones.end(), network.zone) != p.zones.end();
  if (p.kind == "valve_out" && of_zone) return network.inlet_node;
  return std::nullopt;
}

double accuracy_kpa(const PressureReading& reading) {
  if (reading.gauge_accuracy_kpa > 0) return reading.gauge_accuracy_kpa;
  return std::max(least_unstated_accuracy_kpa,
                  unstated_accuracy_frac * std::abs(reading.pressure_kpa));
}

/// The readings that count, of ports on the network.
class Selection {
 public:
  Selection(const Field& field, const Survey& survey, const ZoneNetwork& network)
      : zone_(field.zones[static_cast<std::size_t>(network.zone)].id) {
    for (const PressureReading& reading : survey.pressures) {
      if (reading.port < 0 || reading.running == "flushing") continue;
      if (node_of(field, network, reading.port)) candidates_.push_back(&reading);
    }
    choose_open_zones();
  }

  std::vector<const PressureReading*> readings() const {
    std::vector<const PressureReading*> kept;
    std::copy_if(candidates_.begin(), candidates_.end(), std::back_inserter(kept),
                 [&](const PressureReading* reading) { return counts(*reading); });
    return kept;
  }
  std::size_t left_out() const { return candidates_.size() - readings().size(); }
  const PressureReading* first_left_out() const {
    const auto found =
        std::find_if(candidates_.begin(), candidates_.end(),
                     [&](const PressureReading* reading) { return !counts(*reading); });
    return found == candidates_.end() ? nullptr : *found;
  }

 private:
  bool counts(const PressureReading& reading) const {
    const ZoneSet open = zone_set(reading.zones_open);
    return open.empty() || open == open_;
  }

  /// Of the sets of zones with this one among them, that with the most readings; of equals the
  /// smallest.
  void choose_open_zones() {
    std::map<ZoneSet, int> readings_of;
    for (const PressureReading* reading : candidates_) {
      const ZoneSet open = zone_set(reading->zones_open);
      if (open.count(zone_) > 0) ++readings_of[open];
    }
    int most = 0;
    for (const auto& [open, readings] : readings_of) {
      if (readings < most || (readings == most && open.size() >= open_.size())) continue;
      most = readings;
      open_ = open;
    }
  }

  std::string zone_;
  ZoneSet open_;
  std::vector<const PressureReading*> candidates_;
};

void tell_quality(const Field& field, const Survey& survey, const PressureReading& reading,
                  double line_kpa, Doubts& doubts) {
  const std::string& port = field.ports[static_cast<std::size_t>(reading.port)].id;
  if (line_kpa < 0) {
    doubts.push_back({"negative_end_pressure", Severity::doubt,
                      place_of_reading(field, survey, reading.row, "pressure_kpa"),
                      fmt::format("port {} stands below atmospheric pressure, where emitters draw "
                                  "in soil and air",
                                  port),
                      fmt::format("{:.3g} kPa at the line", line_kpa), "above 0 kPa",
                      "Check the gauge and its height; then look for a shut valve or a pinch "
                      "upstream"});
    return;
  }
  if (!(accuracy_kpa(reading) > coarse_frac * reading.pressure_kpa)) return;
  doubts.push_back(
      {"gauge_too_coarse", Severity::doubt,
       place_of_reading(field, survey, reading.row, "gauge_accuracy_kpa"),
       fmt::format("the gauge at port {} is coarse for this pressure", port),
       fmt::format("{:.3g} kPa of {:.4g} kPa", accuracy_kpa(reading), reading.pressure_kpa),
       fmt::format("{:.0f} % of the reading or better", 100 * coarse_frac),
       "Use a gauge of a smaller range"});
}

/// Mean of a port's readings; the gauge's own error is common to them.
LineReading line_reading(const Field& field, const ZoneNetwork& network,
                         const std::vector<const PressureReading*>& readings) {
  LineReading result;
  result.port = readings.front()->port;
  result.row = readings.front()->row;
  result.node = node_of(field, network, result.port).value_or(-1);
  result.at_inlet = result.node == network.inlet_node;
  const Port& port = field.ports[static_cast<std::size_t>(result.port)];
  const double count = static_cast<double>(readings.size());
  for (const PressureReading* reading : readings) {
    result.kpa += (reading->pressure_kpa + pressure_kpa(port.gauge_height_m)) / count;
    result.gauge_sd_kpa += accuracy_kpa(*reading) / count;
  }
  if (port.kind == "valve_out") {
    result.gauge_sd_kpa = std::hypot(result.gauge_sd_kpa, valve_loss_sd_kpa);
  }
  const double height_sd_m = result.at_inlet ? 0 : network.elevation_sd_m;
  result.sd_kpa = std::hypot(result.gauge_sd_kpa, pressure_kpa(height_sd_m));
  return result;
}

}  // namespace

Place place_of_reading(const Field& field, const Survey& survey, std::size_t row,
                       const std::string& column) {
  Place place;
  for (const SurveySource& source : field.surveys) {
    if (source.id == survey.id && source.pressures) place.file = source.pressures->as_written;
  }
  place.row = row;
  place.column = column;
  return place;
}

std::vector<LineReading> line_readings(const Field& field, const Survey& survey,
                                       const ZoneNetwork& network, Doubts& doubts) {
  const Selection selection(field, survey, network);
  if (const PressureReading* first = selection.first_left_out()) {
    const std::string& zone = field.zones[static_cast<std::size_t>(network.zone)].id;
    doubts.push_back(
        {"other_zones_open", Severity::note,
         place_of_reading(field, survey, first->row, "zones_open"),
         fmt::format("{} readings at ports of zone {} were taken with other zones open and are "
                     "left out",
                     selection.left_out(), zone),
         first->zones_open, zone, "Read all ports of a zone with the same zones open"});
  }
  std::vector<int> order;
  std::map<int, std::vector<const PressureReading*>> by_port;
  for (const PressureReading* reading : selection.readings()) {
    if (by_port.count(reading->port) == 0) order.push_back(reading->port);
    by_port[reading->port].push_back(reading);
    const double height_m = field.ports[static_cast<std::size_t>(reading->port)].gauge_height_m;
    tell_quality(field, survey, *reading, reading->pressure_kpa + pressure_kpa(height_m), doubts);
  }
  std::vector<LineReading> readings;
  readings.reserve(order.size());
  for (const int port : order) {
    readings.push_back(line_reading(field, network, by_port.at(port)));
  }
  return readings;
}

}  // namespace evendrip
