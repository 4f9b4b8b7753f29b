// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/design_check.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>

#include <fmt/format.h>

#include "flushing.hpp"

namespace evendrip {
namespace {

/// Over this flow variation a design is not acceptable: Wu & Gitlin, from memory.
constexpr double flow_variation_limit = 0.2;

struct Extremes {
  double kpa = 0;
  int lateral = -1;
  double station_m = 0;
};

/// Lowest and highest pressure over all nodes of the laterals.
std::pair<Extremes, Extremes> pressure_extremes(const ZoneNetwork& zone,
                                                const NetworkState& state) {
  Extremes low{std::numeric_limits<double>::infinity(), -1, 0};
  Extremes high{-std::numeric_limits<double>::infinity(), -1, 0};
  for (const NetworkLateral& lateral : zone.laterals) {
    for (std::size_t i = 0; i < lateral.nodes.size(); ++i) {
      const double kpa = state.pressure_kpa(zone.network, lateral.nodes[i]);
      if (kpa < low.kpa) low = {kpa, lateral.lateral, lateral.stations_m[i]};
      if (kpa > high.kpa) high = {kpa, lateral.lateral, lateral.stations_m[i]};
    }
  }
  return {low, high};
}

void summarise_discharge(const ZoneNetwork& network, const NetworkState& state,
                         double manufacturing_cv, DesignCheck& check) {
  double sum = 0;
  double count = 0;
  check.smallest_lph = std::numeric_limits<double>::infinity();
  for (const NetworkLateral& lateral : network.laterals) {
    const auto first = static_cast<std::size_t>(lateral.first_outlet);
    const auto end = first + static_cast<std::size_t>(lateral.emitters);
    for (std::size_t i = first; i < end; ++i) {
      const double lph = state.discharge_lph[i];
      sum += lph;
      count += 1;
      check.smallest_lph = std::min(check.smallest_lph, lph);
      check.largest_lph = std::max(check.largest_lph, lph);
    }
  }
  check.mean_lph = count > 0 ? sum / count : 0;
  if (!(check.mean_lph > 0)) return;
  check.emission_uniformity =
      design_emission_uniformity(manufacturing_cv, 1, check.smallest_lph, check.mean_lph);
  check.flow_variation = flow_variation(check.smallest_lph, check.largest_lph);
}

std::string lateral_id(const Field& field, int lateral) {
  return lateral < 0 ? "" : field.laterals[static_cast<std::size_t>(lateral)].id;
}

void tell(const Field& field, const DesignCheck& check, Doubts& doubts) {
  const Zone& zone = field.zones[static_cast<std::size_t>(check.zone)];
  const Place place{"field.toml", fmt::format("zone {}", zone.id), 0, ""};
  if (check.flow_variation > flow_variation_limit) {
    doubts.push_back({"flow_variation_large", Severity::doubt, place,
                      fmt::format("by its design zone {} waters unevenly", zone.id),
                      fmt::format("{:.0f} % between emitters", 100 * check.flow_variation),
                      fmt::format("at most {:.0f} %", 100 * flow_variation_limit),
                      "Shorter lines, wider pipes or compensating emitters would help; check "
                      "diameters and the elevation raster first"});
  }
  if (check.passes_tape_limit) {
    doubts.push_back(
        {"pressure_beyond_limit", Severity::doubt, place,
         fmt::format("lateral {} stands under more pressure than its maker allows",
                     lateral_id(field, check.highest_lateral)),
         fmt::format("{:.4g} kPa at {:.0f} m", check.highest_kpa, check.highest_station_m),
         fmt::format("at most {:g} kPa", zone.lateral.max_pressure_kpa),
         "Lower the inlet pressure before the line bursts"});
  }
  if (check.flush && !check.flush->reaches_0_3) {
    doubts.push_back({"low_flushing_velocity", Severity::doubt, place,
                      fmt::format("the far ends of zone {} do not flush fast enough with {} lines "
                                  "open",
                                  zone.id, check.flush->lines_open),
                      fmt::format("{:.2f} m/s", check.flush->smallest_velocity_m_s),
                      "0.3 m/s or more",
                      "Open fewer lines at once, or flush at a higher inlet pressure within the "
                      "tape's limit"});
  }
}

DesignCheck checked_zone(const Field& field, const ExpectedZone& zone, const ZoneNetwork& network,
                         const Work& work, Doubts& doubts) {
  const Zone& spec = field.zones[static_cast<std::size_t>(zone.zone)];
  DesignCheck check;
  check.zone = zone.zone;
  summarise_discharge(network, zone.state, spec.emitter.manufacturing_cv, check);
  const auto extremes = pressure_extremes(network, zone.state);
  const Extremes& low = extremes.first;
  const Extremes& high = extremes.second;
  check.lowest_kpa = low.kpa;
  check.lowest_lateral = low.lateral;
  check.lowest_station_m = low.station_m;
  check.highest_kpa = high.kpa;
  check.highest_lateral = high.lateral;
  check.highest_station_m = high.station_m;
  check.passes_tape_limit =
      spec.lateral.max_pressure_kpa > 0 && high.kpa > spec.lateral.max_pressure_kpa;
  try {
    check.flush = flush_check(field, zone, work);
  } catch (const InputError& error) {
    for (Doubt told : error.problems()) {
      told.severity = Severity::doubt;
      told.text = fmt::format("the flush of zone {} is not worked out: {}", spec.id, told.text);
      doubts.push_back(std::move(told));
    }
  }
  return check;
}

}  // namespace

double design_emission_uniformity(double manufacturing_cv, double emitters_per_plant,
                                  double smallest_lph, double mean_lph) {
  if (!(manufacturing_cv >= 0) || !(emitters_per_plant >= 1) || !(mean_lph > 0)) {
    throw std::invalid_argument("emission uniformity needs Cv >= 0, n' >= 1 and a mean above 0");
  }
  return (1 - 1.27 * manufacturing_cv / std::sqrt(emitters_per_plant)) * smallest_lph / mean_lph;
}

double flow_variation(double smallest_lph, double largest_lph) {
  if (!(largest_lph > 0)) {
    throw std::invalid_argument("flow variation needs a largest flow above 0");
  }
  return (largest_lph - smallest_lph) / largest_lph;
}

double flushing_flow_lph(double velocity_m_s, double inside_diameter_mm) {
  if (!(inside_diameter_mm > 0)) throw std::invalid_argument("a bore is above 0");
  constexpr double quarter_pi = 0.78539816339744831;
  constexpr double lph_per_m3_s = 3.6e6;
  const double diameter_m = inside_diameter_mm / 1000;
  return quarter_pi * diameter_m * diameter_m * velocity_m_s * lph_per_m3_s;
}

std::vector<DesignCheck> check_design(const Field& field, const Survey& survey,
                                      const Expectation& expectation, const Work& work,
                                      Doubts& doubts) {
  std::vector<std::pair<const ExpectedZone*, const ZoneNetwork*>> zones;
  for (const ExpectedZone& zone : expectation.zones) {
    if (zone.computed && zone.network) zones.emplace_back(&zone, &*zone.network);
  }
  double supply_lph = 0;
  for (const MeterReading& reading : survey.meter) {
    supply_lph = std::max(supply_lph, reading.flow_lph);
  }
  std::vector<DesignCheck> checks(zones.size());
  std::vector<Doubts> of_flush(zones.size());
  for_each_chunk(work, zones.size(), 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) {
      checks[i] = checked_zone(field, *zones[i].first, *zones[i].second, work, of_flush[i]);
      checks[i].supply_lph = supply_lph;
    }
  });
  for (std::size_t i = 0; i < checks.size(); ++i) {
    tell(field, checks[i], doubts);
    doubts.insert(doubts.end(), of_flush[i].begin(), of_flush[i].end());
  }
  return checks;
}

}  // namespace evendrip
