// SPDX-License-Identifier: Apache-2.0
#include "port_readings.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <tuple>

#include "evendrip/findings/zone_changes.hpp"
#include "evendrip/hydraulics/water.hpp"

namespace evendrip {
namespace {

bool among(const std::vector<int>& zones, int zone) {
  return std::find(zones.begin(), zones.end(), zone) != zones.end();
}

}  // namespace

double gauge_sd_kpa(double stated_kpa, double pressure_kpa) {
  return stated_kpa > 0 ? stated_kpa : std::max(1.0, 0.02 * std::abs(pressure_kpa));
}

std::vector<int> ports_of(const Field& field, int zone, std::string_view kind) {
  std::vector<int> ports;
  for (std::size_t i = 0; i < field.ports.size(); ++i) {
    if (field.ports[i].kind == kind && among(field.ports[i].zones, zone)) {
      ports.push_back(static_cast<int>(i));
    }
  }
  return ports;
}

std::vector<int> zones_open(const Field& field, const PressureReading& reading) {
  std::vector<int> zones;
  std::string id;
  for (const char character : reading.zones_open + ";") {
    if (character != ' ' && character != ',' && character != ';' && character != '+') {
      id += character;
      continue;
    }
    for (std::size_t i = 0; i < field.zones.size(); ++i) {
      if (field.zones[i].id == id) zones.push_back(static_cast<int>(i));
    }
    id.clear();
  }
  return zones.empty() ? field.ports[static_cast<std::size_t>(reading.port)].zones : zones;
}

std::optional<Reading> reading_at(const Field& field, const Survey& survey, int port, int zone) {
  double sum = 0;
  double sd = 0;
  double n = 0;
  for (const PressureReading& reading : survey.pressures) {
    if (reading.port != port || reading.running == "flushing") continue;
    if (!among(zones_open(field, reading), zone)) continue;
    sum += reading.pressure_kpa;
    sd = std::max(sd, gauge_sd_kpa(reading.gauge_accuracy_kpa, reading.pressure_kpa));
    n += 1;
  }
  if (n == 0) return std::nullopt;
  return Reading{sum / n, sd};
}

std::optional<Reading> recorded_at(const Commissioning& record, int port, int zone) {
  const CommissioningPressure* best = nullptr;
  const auto breadth = [](const CommissioningPressure& entry) {
    return entry.zones.empty() ? std::size_t{1'000'000} : entry.zones.size();
  };
  for (const CommissioningPressure& entry : record.pressures) {
    if (entry.port != port || !(entry.pressure_kpa > 0)) continue;
    if (!entry.zones.empty() && !among(entry.zones, zone)) continue;
    if (best == nullptr || breadth(entry) < breadth(*best)) best = &entry;
  }
  if (best == nullptr) return std::nullopt;
  return Reading{best->pressure_kpa, gauge_sd_kpa(best->accuracy_kpa, best->pressure_kpa)};
}

Reading at_line(const Field& field, int port, const Reading& reading) {
  const double height_m = field.ports[static_cast<std::size_t>(port)].gauge_height_m;
  return {reading.value + height_m * kpa_per_m, reading.sd};
}

Commissioning record_of(const Field& field, const Survey& survey) {
  Commissioning record;
  record.date = survey.date;
  std::vector<int> counts;
  for (const PressureReading& reading : survey.pressures) {
    if (reading.running == "flushing" || !(reading.pressure_kpa > 0)) continue;
    const std::vector<int> zones = zones_open(field, reading);
    const double sd = gauge_sd_kpa(reading.gauge_accuracy_kpa, reading.pressure_kpa);
    std::size_t i = 0;
    while (i < record.pressures.size() &&
           std::tie(record.pressures[i].port, record.pressures[i].zones) !=
               std::tie(reading.port, zones)) {
      ++i;
    }
    if (i == record.pressures.size()) {
      record.pressures.push_back({reading.port, zones, reading.pressure_kpa, sd});
      counts.push_back(1);
      continue;
    }
    CommissioningPressure& mean = record.pressures[i];
    ++counts[i];
    mean.pressure_kpa += (reading.pressure_kpa - mean.pressure_kpa) / counts[i];
    mean.accuracy_kpa = std::max(mean.accuracy_kpa, sd);
  }
  for (const MeterReading& reading : survey.meter) {
    if (!(reading.flow_lph > 0)) continue;
    record.flows.push_back(
        {reading.meter, reading.zones, reading.flow_lph, reading.accuracy_frac * reading.flow_lph});
  }
  return record;
}

}  // namespace evendrip
