// SPDX-License-Identifier: Apache-2.0
#include "zone_expectation.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/format.h>

#include "evendrip/hydraulics/water.hpp"

namespace evendrip {
namespace {

std::string why_not_built(const Doubts& doubts) {
  for (const Doubt& doubt : doubts) {
    if (doubt.code == "no_supply_manifold") return "needs [layers] manifolds";
    if (doubt.code == "bad_diameter") return "needs inside_diameter: " + doubt.text;
  }
  return doubts.empty() ? "the lines make no network" : doubts.back().text;
}

const Outlet& emitter_of(const ZoneNetwork& network, const NetworkLateral& lateral, int emitter) {
  const int outlet = lateral.first_outlet + emitter;
  return network.network.outlets[static_cast<std::size_t>(outlet)];
}

ExpectedLateral places_of(const ZoneNetwork& network, const NetworkLateral& lateral) {
  ExpectedLateral result;
  result.lateral = lateral.lateral;
  for (int i = 0; i < lateral.emitters; ++i) {
    const int node = emitter_of(network, lateral, i).node;
    const auto at = std::find(lateral.nodes.begin() + i, lateral.nodes.end(), node);
    result.station_m.push_back(
        lateral.stations_m[static_cast<std::size_t>(at - lateral.nodes.begin())]);
    result.elevation_m.push_back(network.network.elevation_m[static_cast<std::size_t>(node)]);
  }
  return result;
}

std::vector<double> emitter_pressures(const ZoneNetwork& network, const NetworkState& state,
                                      const NetworkLateral& lateral) {
  std::vector<double> kpa;
  kpa.reserve(static_cast<std::size_t>(lateral.emitters));
  for (int i = 0; i < lateral.emitters; ++i) {
    kpa.push_back(state.pressure_kpa(network.network, emitter_of(network, lateral, i).node));
  }
  return kpa;
}

void give_up(ZoneWork& work, const std::string& why) {
  work.zone.computed = false;
  work.zone.why_not = why;
}

void tell_no_pressure(const Zone& zone, Doubts& doubts) {
  Place place;
  place.file = "field.toml";
  place.layer = fmt::format("[[zone]] {}", zone.id);
  place.column = "inlet_pressure";
  doubts.push_back({"no_inlet_pressure", Severity::doubt, place,
                    fmt::format("nothing is expected of zone {}: its inlet pressure is neither "
                                "stated nor read at any of its ports",
                                zone.id),
                    "", "inlet_pressure, or a reading in the survey's pressures",
                    "Read a gauge at the zone's inlet while it irrigates"});
}

void tell_dry_ends(const Field& field, ZoneWork& work) {
  int dry = 0;
  double lowest = 0;
  std::string where;
  for (const ExpectedLateral& lateral : work.zone.laterals) {
    for (std::size_t i = 0; i < lateral.station_m.size(); ++i) {
      if (lateral.pressure_kpa[i] > 0) continue;
      ++dry;
      if (!where.empty() && lateral.pressure_kpa[i] >= lowest) continue;
      lowest = lateral.pressure_kpa[i];
      where = fmt::format("lateral {} at {:.4g} m",
                          field.laterals[static_cast<std::size_t>(lateral.lateral)].id,
                          lateral.station_m[i]);
    }
  }
  if (dry == 0) return;
  const Zone& zone = field.zones[static_cast<std::size_t>(work.zone.zone)];
  Place place;
  place.layer = fmt::format("zone {}, {}", zone.id, where);
  work.of_result.push_back(
      {"negative_end_pressure", Severity::doubt, place,
       fmt::format("{} emitters of zone {} get no pressure even if everything is clean", dry,
                   zone.id),
       fmt::format("{:.3g} kPa", lowest), "above 0 kPa",
       "Check the inlet pressure, the diameters and the heights; if they are right, the zone needs "
       "more pressure or shorter laterals"});
}

void sum_up(const EmitterCurve& curve, ExpectedZone& zone) {
  double pressure_sum = 0;
  std::size_t emitters = 0;
  zone.total_lph = 0;
  zone.smallest_lph = std::numeric_limits<double>::infinity();
  for (const ExpectedLateral& lateral : zone.laterals) {
    for (std::size_t i = 0; i < lateral.discharge_lph.size(); ++i) {
      ++emitters;
      pressure_sum += lateral.pressure_kpa[i];
      zone.total_lph += lateral.discharge_lph[i];
      zone.smallest_lph = std::min(zone.smallest_lph, lateral.discharge_lph[i]);
    }
  }
  if (emitters == 0) return;
  zone.mean_lph = zone.total_lph / static_cast<double>(emitters);
  const double mean_kpa = pressure_sum / static_cast<double>(emitters);
  const double heights_m = zone.network ? zone.network->elevation_sd_m : 0;
  const double sd_kpa = std::hypot(zone.gauges.inlet_kpa.sd, pressure_kpa(heights_m));
  if (mean_kpa > 0) zone.relative_sd = local_exponent(curve, mean_kpa) * sd_kpa / mean_kpa;
}

}  // namespace

ZoneWork build_zone(const Field& field, const Survey& survey, int zone, const Terrain& terrain,
                    const HydraulicOptions& options) {
  ZoneWork work;
  work.zone.zone = zone;
  work.zone.rated_tolerance_frac =
      field.zones[static_cast<std::size_t>(zone)].emitter.rated_tolerance_frac;
  try {
    work.zone.network = zone_network(field, zone, terrain, options, work.of_network);
  } catch (const InputError& error) {
    give_up(work, error.what());
    return work;
  }
  if (!work.zone.network) {
    give_up(work, why_not_built(work.of_network));
    return work;
  }
  for (const NetworkLateral& lateral : work.zone.network->laterals) {
    work.zone.laterals.push_back(places_of(*work.zone.network, lateral));
  }
  if (work.zone.network->network.outlets.empty()) {
    give_up(work, "no emitter of the zone is joined to its supply");
    return work;
  }
  work.zone.computed = inlet_pressure_is_told(field, survey, *work.zone.network);
  if (!work.zone.computed) {
    give_up(work, "needs inlet_pressure of the zone, or a gauge reading at one of its ports");
    tell_no_pressure(field.zones[static_cast<std::size_t>(zone)], work.of_network);
  }
  return work;
}

void meet_zone(const Field& field, const Survey& survey, const std::vector<WearWitness>& witnesses,
               ZoneWork& work) {
  if (!work.zone.computed || !work.zone.network) return;
  const ZoneNetwork& clean = *work.zone.network;
  try {
    work.of_gauges.clear();
    work.zone.gauges = meet_gauges(field, survey, clean, witnesses, GaugePriors{}, work.of_gauges);
    const ZoneGauges& gauges = work.zone.gauges;
    const ZoneNetwork as_is = as_gauged(clean, gauges.inlet_kpa.value, gauges.loss_factor.value,
                                        gauges.wear_factor.value * gauges.soil_factor.value);
    work.as_is = solve_network(as_is.network);
    for (std::size_t i = 0; i < clean.laterals.size(); ++i) {
      work.zone.laterals[i].as_is_pressure_kpa =
          emitter_pressures(as_is, work.as_is, clean.laterals[i]);
    }
  } catch (const InputError& error) {
    give_up(work, error.what());
  }
}

void finish_zone(const Field& field, ZoneWork& work) {
  ExpectedZone& zone = work.zone;
  if (!zone.computed || !zone.network) return;
  try {
    ZoneNetwork clean =
        as_gauged(*zone.network, zone.gauges.inlet_kpa.value, 1, zone.gauges.soil_factor.value);
    zone.state = solve_network(clean.network);
    zone.network = std::move(clean);
  } catch (const InputError& error) {
    give_up(work, error.what());
    return;
  }
  const EmitterCurve curve = curve_of(field.zones[static_cast<std::size_t>(zone.zone)].emitter);
  for (std::size_t i = 0; i < zone.laterals.size(); ++i) {
    const NetworkLateral& lateral = zone.network->laterals[i];
    zone.laterals[i].pressure_kpa = emitter_pressures(*zone.network, zone.state, lateral);
    for (const double kpa : zone.laterals[i].pressure_kpa) {
      zone.laterals[i].discharge_lph.push_back(discharge_lph(curve, kpa));
    }
  }
  sum_up(curve, zone);
  tell_dry_ends(field, work);
}

double along_lateral(const ExpectedLateral& lateral, const std::vector<double>& values,
                     double station_m) {
  const auto& stations = lateral.station_m;
  if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
  const auto next = std::upper_bound(stations.begin(), stations.end(), station_m);
  if (next == stations.begin()) return values.front();
  if (next == stations.end()) return values.back();
  const auto i = static_cast<std::size_t>(next - stations.begin());
  const double share = (station_m - stations[i - 1]) / (stations[i] - stations[i - 1]);
  return values[i - 1] + share * (values[i] - values[i - 1]);
}

double local_exponent(const EmitterCurve& curve, double pressure_kpa) {
  const double discharge = discharge_lph(curve, pressure_kpa);
  return discharge > 0 ? discharge_slope(curve, pressure_kpa) * pressure_kpa / discharge : 0;
}

}  // namespace evendrip
