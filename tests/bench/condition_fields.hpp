// SPDX-License-Identifier: Apache-2.0
// The fields of condition_scenarios.hpp made: truth in every emitter, what a survey of it writes
// down, and what its crop shows.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "evendrip/base/median.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/crop/machine_marks.hpp"
#include "evendrip/hydraulics/water.hpp"
#include "evendrip/simulate/crop_sensing.hpp"
#include "evendrip/simulate/running.hpp"
#include "evendrip/simulate/season_crop.hpp"

#include "condition_scenarios.hpp"
#include "surface_scenarios.hpp"

namespace evendrip::bench {

struct ConditionField {
  ConditionScenario scenario;
  SimulatedField actual;  ///< emitters with their own make and luck
  SimulatedField shared;  ///< emitters as their places are on the average
  Field system;           ///< as the evaluator has it
  Survey survey;
  CropEvidence evidence;
  Raster relative;  ///< the crop over its median, for marks of machines and of turning
  std::vector<double> implement_widths_m;  ///< that the grower states
  std::vector<MachineStripe> stripes;      ///< as they were recognised
};

/// Parts of a scenario with random numbers of their own; the numbers below 20 are those of
/// surface_scenarios.hpp.
enum class ConditionPart : std::uint64_t {
  plan = 20,
  network,
  patch,
  make,
  holes,
  gauges,
  season,
  soil,
  machine,
  headland,
  sensing
};
inline Chance chance_of(const ConditionScenario& s, ConditionPart part) {
  return {s.seed, static_cast<std::uint64_t>(part)};
}
inline double drawn(Chance& chance, const std::array<double, 2>& range) {
  return chance.between(range[0], range[1]);
}
inline double by_severity(const ConditionScenario& s, const std::array<double, 2>& range) {
  return range[0] + (range[1] - range[0]) * s.severity;
}
inline bool strong_soil(const ConditionScenario& s) {
  return s.trouble == ConditionTrouble::soil_only || s.trouble == ConditionTrouble::unrelated_crop;
}

inline SimulationPlan condition_plan(const ConditionScenario& s) {
  Chance chance = chance_of(s, ConditionPart::plan);
  SimulationPlan plan;
  plan.zones = 1;
  plan.laterals_per_zone = chance.whole(scenario_laterals[0], scenario_laterals[1]);
  plan.lateral_length_m = 10 * chance.whole(scenario_length_10m[0], scenario_length_10m[1]);
  plan.lateral_spacing_m = std::round(drawn(chance, scenario_spacing_m) * 10) / 10;
  plan.bearing_deg = chance.between(0, 180);
  plan.slope_frac = chance.between(-scenario_slope_frac, scenario_slope_frac);
  plan.cross_slope_frac = chance.between(-scenario_slope_frac, scenario_slope_frac);
  plan.inlet_pressure_kpa = drawn(chance, scenario_inlet_kpa);
  plan.manufacturing_cv = drawn(chance, scenario_make_cv);
  plan.plugged_share = chance.between(0, most_plugged_share);
  plan.soil_sd = strong_soil(s) ? strong_soil_sd : slight_soil_sd;
  plan.seed = s.seed;
  if (s.closed) plan.closed_zones = {"Z1"};
  return plan;
}

inline SimulatedFault pinched(int lateral, double station_m, double severity) {
  SimulatedFault fault;
  fault.zone = "Z1";
  fault.kind = "pinch";
  fault.first_lateral = fault.last_lateral = lateral + 1;
  fault.from_station_m = station_m;
  fault.severity = severity;
  return fault;
}
inline SimulatedFault narrowed(double across_m, double severity) {
  SimulatedFault fault = pinched(0, across_m, severity);
  fault.on = "manifold";
  return fault;
}

/// Sharp at its edges; its emitters clogged each to its own extent.
inline void add_patch(const ConditionScenario& s, const SimulatedField& field, Damage& damage) {
  Chance chance = chance_of(s, ConditionPart::patch);
  const int laterals = chance.whole(2, 6);
  const int first = chance.whole(0, field.plan.laterals_per_zone - laterals);
  const double length_m = chance.between(15, 50);
  const double from_m = chance.between(0, field.plan.lateral_length_m - length_m);
  const double loss = by_severity(s, patch_loss);
  for (int l = first; l < first + laterals; ++l) {
    const auto& emitters = field.laterals[static_cast<std::size_t>(l)].emitters;
    for (std::size_t i = 0; i < emitters.size(); ++i) {
      if (emitters[i].station_m >= from_m && emitters[i].station_m < from_m + length_m)
        damage.loss[static_cast<std::size_t>(l)][i] = loss;
    }
  }
}

/// Mean delivery of the laterals beyond a place along the supply manifold.
inline double delivery_beyond(const SimulatedField& field, double across_m) {
  double sum = 0;
  double n = 0;
  for (const SimulatedLateral& lateral : field.laterals) {
    if (lateral.across_m - field.zones[0].across_min_m < across_m) continue;
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      sum += emitter.delivery;
      n += 1;
    }
  }
  return n > 0 ? sum / n : 1;
}

/// Open share by halving its logarithm between 0.5 and 0.001, until the laterals beyond deliver
/// what is wanted; the narrowest where a flush manifold gives them more than that.
inline SimulatedFault narrowed_to(SimulatedField field, double across_m, double delivery) {
  for (SimulatedLateral& lateral : field.laterals)
    for (SimulatedEmitter& emitter : lateral.emitters) emitter.performance = 1;
  double low = std::log(0.001);
  double high = std::log(0.5);
  for (int step = 0; step < 9; ++step) {
    const double middle = (low + high) / 2;
    field.plan.faults = {narrowed(across_m, 1 - std::exp(middle))};
    (delivery_beyond(running_field(field), across_m) < delivery ? low : high) = middle;
  }
  return narrowed(across_m, 1 - std::exp((low + high) / 2));
}

/// Faults of pipes, put into the plan.
inline void add_network_faults(const ConditionScenario& s, const SurfaceScenario& like,
                               SimulatedField& field) {
  Chance chance = chance_of(s, ConditionPart::network);
  const int count = field.plan.laterals_per_zone;
  const double length_m = field.plan.lateral_length_m;
  std::vector<SimulatedFault>& faults = field.plan.faults;
  const double width_m = count * field.plan.lateral_spacing_m;
  if (s.trouble == ConditionTrouble::weak_inlets || s.trouble == ConditionTrouble::unrelated_crop) {
    Damage inlets;
    pinch_inlets(like, field, inlets);
    for (const Fault& fault : inlets.faults)
      faults.push_back(pinched(fault.line, 0, fault.severity));
  } else if (s.trouble == ConditionTrouble::pinched_group) {
    const int laterals = chance.whole(3, 8);
    const int first = chance.whole(0, count - laterals);
    const double station_m = chance.between(0.1, 0.6) * length_m;
    for (int l = first; l < first + laterals; ++l)
      faults.push_back(
          pinched(l, station_m + chance.normal(), lost_bore(like, chance, least_open_line)));
  } else if (s.trouble == ConditionTrouble::pinched_line) {
    const int l = chance.whole(0, count - 1);
    const double station_m = chance.between(0, 0.6) * length_m;
    faults.push_back(pinched(l, station_m, lost_bore(like, chance, least_open_line)));
  } else if (s.trouble == ConditionTrouble::narrowed_manifold) {
    const double across_m = chance.between(0.125, 0.875) * width_m;
    faults.push_back(narrowed(across_m, lost_bore(like, chance, least_open_manifold)));
  } else if (s.trouble == ConditionTrouble::pressure_only) {
    faults.push_back(
        narrowed_to(field, chance.between(0.125, 0.875) * width_m, pressure_only_delivery));
  }
}

/// What emitters lose, on the average of their place.
inline Damage emitter_damage(const ConditionScenario& s, const SurfaceScenario& like,
                             const SimulatedField& field) {
  Damage damage;
  for (const SimulatedLateral& lateral : field.laterals)
    damage.loss.emplace_back(lateral.emitters.size(), 0.0);
  if (s.trouble == ConditionTrouble::tail_sediment) {
    ZoneNetwork zone =
        scenario_network(field, system_field(field), {}, field.plan.inlet_pressure_kpa);
    settle_sediment(like, field, zone, solve_network(zone.network), damage);
  } else if (s.trouble == ConditionTrouble::plugged_clusters) {
    plug_clusters(like, field, damage);
  } else if (s.trouble == ConditionTrouble::local_patch) {
    add_patch(s, field, damage);
  }
  return damage;
}

/// Both fields, solved.
inline void run_water(const ConditionScenario& s, ConditionField& made) {
  const SurfaceScenario like{Trouble::clean, s.closed, s.severity, s.seed};
  SimulatedField field = laid_out_field(condition_plan(s));
  add_network_faults(s, like, field);
  const Damage damage = emitter_damage(s, like, field);
  Chance chance = chance_of(s, ConditionPart::make);
  made.shared = made.actual = std::move(field);
  const double share = made.actual.plan.plugged_share;
  for (std::size_t l = 0; l < damage.loss.size(); ++l) {
    for (std::size_t i = 0; i < damage.loss[l].size(); ++i) {
      const double loss = damage.loss[l][i];
      made.shared.laterals[l].emitters[i].performance = (1 - loss) * (1 - share);
      const double make = std::max(0.0, 1 + made.actual.plan.manufacturing_cv * chance.normal());
      const double lucky = luck(loss, chance);
      made.actual.laterals[l].emitters[i].performance = chance.even() < share ? 0 : make * lucky;
    }
  }
  made.actual = running_field(std::move(made.actual));
  made.shared = running_field(std::move(made.shared));
}

inline void read_gauges(ConditionField& made) {
  Chance chance = chance_of(made.scenario, ConditionPart::gauges);
  const int count = made.actual.plan.laterals_per_zone;
  const std::array<int, 3> ends = {1, count / 2 + 1, count};
  for (std::size_t i = 0; i < made.actual.ports.size(); ++i) {
    const SimulatedPort& port = made.actual.ports[i];
    const bool end = std::any_of(ends.begin(), ends.end(), [&](int number) {
      return port.id == made.actual.laterals[static_cast<std::size_t>(number - 1)].id + "-end";
    });
    if (port.kind != "zone_inlet" && !end) continue;
    PressureReading reading;
    reading.port = static_cast<int>(i);
    reading.pressure_kpa =
        std::max(0.0, port.pressure_kpa.front() + gauge_error_kpa * chance.normal() -
                          pressure_kpa(port.gauge_height_m));
    reading.gauge_accuracy_kpa = gauge_error_kpa;
    reading.running = "irrigating";
    reading.zones_open = "Z1";
    made.survey.pressures.push_back(reading);
  }
}

/// Laterals at random, one hole in each of four equal parts of each.
inline void dig_holes(ConditionField& made) {
  Chance chance = chance_of(made.scenario, ConditionPart::holes);
  const std::size_t laterals = made.actual.laterals.size();
  for (const std::size_t l : picked(laterals, made.scenario.holes / holes_on_a_lateral, chance)) {
    const auto& emitters = made.actual.laterals[l].emitters;
    for (int i = 0; i < holes_on_a_lateral; ++i) {
      const double part = (i + chance.even()) / holes_on_a_lateral;
      const SimulatedEmitter& emitter =
          emitters[static_cast<std::size_t>(part * static_cast<double>(emitters.size()))];
      const int lateral = static_cast<int>(l);
      MeasuredEmitter caught;
      caught.name = std::to_string(made.survey.emitters.size() + 1);
      caught.site = {place_on_lateral(made.system, lateral, emitter.station_m), lateral,
                     emitter.station_m, 0};
      caught.discharge_lph = emitter.discharge_lph * (1 + catch_error * chance.normal());
      caught.state = emitter.discharge_lph > 0 ? EmitterState::runs : EmitterState::none;
      made.survey.emitters.push_back(caught);
    }
  }
}

inline void survey_field(ConditionField& made) {
  made.system = system_field(made.actual);
  made.system.zones[0].emitter.manufacturing_cv = stated_make_cv;
  made.system.zones[0].inlet_pressure_kpa = 0;  // the gauge says it
  made.survey.id = "survey";
  made.survey.replicate_cv = catch_error;
  read_gauges(made);
  dig_holes(made);
}

inline SeasonPlan season_of(const ConditionScenario& s) {
  Chance chance = chance_of(s, ConditionPart::season);
  SeasonPlan season;
  season.share_irrigated = drawn(chance, season_share_irrigated);
  season.irrigation_over_need = drawn(chance, irrigation_over_need);
  season.yield_response = drawn(chance, yield_response);
  const double saturation = drawn(chance, index_saturation);
  season.index_saturation = s.harvester ? 0 : saturation;
  season.follows_the_water = s.trouble == ConditionTrouble::unrelated_crop ? 0 : 1;
  season.seed = item_seed(s.seed, {static_cast<std::uint64_t>(ConditionPart::season)});
  return season;
}

inline SoilMapPlan soil_of(const ConditionScenario& s) {
  Chance chance = chance_of(s, ConditionPart::soil);
  SoilMapPlan soil;
  const auto& patches = strong_soil(s) ? strong_soil_patches : slight_soil_patches;
  soil.units = chance.whole(2, 4);
  soil.patches = chance.whole(patches[0], patches[1]);
  soil.available_mm_m = available_water_mm_m;
  soil.unit_factor = unit_factor;
  soil.patch_factor = patch_factor;
  soil.seed = item_seed(s.seed, {static_cast<std::uint64_t>(ConditionPart::soil)});
  if (s.trouble == ConditionTrouble::clean) soil.patches = 0;
  return soil;
}

/// The crop as it stands on such a soil, on cells of half a metre.
inline Raster standing_crop(const ConditionField& made, const SoilMapPlan& soil,
                            const SoilPattern& smooth) {
  Extent ground;
  const double half_m = made.actual.plan.lateral_length_m / 2;
  ground.include(Point{-half_m, made.actual.zones[0].across_min_m});
  ground.include(Point{half_m, made.actual.zones[0].across_max_m});
  return season_crop(made.actual, SoilMap(soil, ground), smooth, season_of(made.scenario), 0.5);
}

/// What turning and machines do to it.
inline Raster worked_crop(const ConditionField& made, Raster crop) {
  const ConditionScenario& s = made.scenario;
  Chance ends = chance_of(s, ConditionPart::headland);
  const double width_m = drawn(ends, headland_m);
  crop = with_headland(std::move(crop), made.actual.plan.lateral_length_m, width_m,
                       drawn(ends, headland_factor));
  Chance chance = chance_of(s, ConditionPart::machine);
  if (s.trouble == ConditionTrouble::machine_told) {
    const double phase_m = chance.even() * made.implement_widths_m[0];
    return with_stripes(std::move(crop),
                        {made.implement_widths_m[0], by_severity(s, stripe_amplitude), phase_m});
  }
  if (s.trouble == ConditionTrouble::machine_untold) {
    const SimulatedZone& zone = made.actual.zones[0];
    const double strip_m = chance.between(1, 3) * made.actual.plan.lateral_spacing_m;
    const double from_m = chance.between(zone.across_min_m, zone.across_max_m - strip_m);
    return with_strip(std::move(crop), from_m, from_m + strip_m, 1 - by_severity(s, strip_loss));
  }
  return crop;
}

/// As the reading of a raster does it (io/raster_file.hpp, open_raster_inside): pixels that
/// straddle the limit of the zone have no value.
inline bool wholly_inside(const MultiPolygon& area, Point middle, double side_m) {
  for (const double dx : {-0.5, 0.5}) {
    for (const double dy : {-0.5, 0.5}) {
      if (!contains(area, {middle.x + dx * side_m, middle.y + dy * side_m})) return false;
    }
  }
  return true;
}

inline void see_by_raster(const Raster& crop, const SensorPlan& plan, ConditionField& made) {
  Raster raster = sensed_raster(made.actual, crop, plan);
  CropEvidence& evidence = made.evidence;
  const auto side = static_cast<float>(plan.pixel_m);
  // As crop/evidence.hpp takes it where nothing is stated of the sensor and of the place.
  const double blur_m = std::hypot(0.3, 0.25) * plan.pixel_m;
  std::vector<double> values;
  for (int row = 0; row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      const Point place = raster.grid.centre(row, column);
      const std::size_t i = raster.grid.index(row, column);
      if (!wholly_inside(made.system.zones[0].area, place, raster.grid.cell_m)) {
        raster.clear(i, Reason::source_nodata);
        continue;
      }
      const auto value = static_cast<double>(raster.values[i]);
      evidence.data.push_back({place, value, 0, side, side, static_cast<float>(blur_m), 0, false});
      values.push_back(value);
    }
  }
  evidence.kind = "biomass";
  evidence.typical = {plan.pixel_m, plan.pixel_m, blur_m, 0};
  evidence.median = median_of(std::move(values));
  for (float& value : raster.values) value /= static_cast<float>(evidence.median);
  made.relative = std::move(raster);
}

inline HarvestLog log_of(const std::vector<HarvestRecord>& records, const HarvesterPlan& plan) {
  HarvestLog log;
  for (const HarvestRecord& record : records) {
    log.places.push_back(record.place);
    log.time_s.push_back(record.time_s);
    log.duration_s.push_back(plan.record_s);
    log.distance_m.push_back(plan.speed_m_s * plan.record_s);
    log.swath_m.push_back(plan.swath_m);
    log.yield_t_ha.push_back(record.value);
  }
  return log;
}

inline void see_by_harvester(const Raster& crop, const HarvesterPlan& plan, ConditionField& made) {
  const std::vector<HarvestRecord> records = harvested(made.actual, crop, plan);
  CleanedLog cleaned;
  for (const HarvestRecord& record : records) {
    cleaned.yield_t_ha.push_back(record.value);
    cleaned.step.push_back(SetAside::kept);
    cleaned.pass.push_back(record.pass);
    cleaned.heading_deg.push_back(record.heading_deg);
    cleaned.cut_width_m.push_back(plan.swath_m);
  }
  CropSource source;
  source.id = "crop";
  source.kind = "yield";
  made.evidence = evidence_of(made.system, source, log_of(records, plan), cleaned);
  // The nearest record over cells of half a swath.
  made.relative = Raster(grid_over(made.system.extent(), plan.swath_m / 2));
  const Grid& grid = made.relative.grid;
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      const Point place = grid.centre(row, column);
      double nearest_m = plan.swath_m;
      for (const HarvestRecord& record : records) {
        const double away_m = distance_m(record.place, place);
        if (away_m >= nearest_m) continue;
        nearest_m = away_m;
        made.relative.set(grid.index(row, column), record.value / made.evidence.median);
      }
    }
  }
}

inline void see_crop(const Raster& crop, ConditionField& made) {
  const ConditionScenario& s = made.scenario;
  Chance chance = chance_of(s, ConditionPart::sensing);
  const double pixel_m = s.pixel_over_spacing * made.actual.plan.lateral_spacing_m;
  const double off_m = misregistration_pixels * pixel_m + misregistration_m;
  const Point shift{off_m * chance.normal(), off_m * chance.normal()};
  const std::uint64_t seed =
      item_seed(s.seed, {static_cast<std::uint64_t>(ConditionPart::sensing)});
  if (s.harvester) {
    see_by_harvester(crop,
                     {pixel_m, harvester_speed_m_s, 1, harvester_mixing_s,
                      harvester_lag_error_s * chance.normal(), shift, s.crop_noise, seed},
                     made);
  } else {
    see_by_raster(crop, {pixel_m, sensor_blur_pixels * pixel_m, shift, s.crop_noise, seed}, made);
  }
  CropEvidence& evidence = made.evidence;
  evidence.id = "crop";
  evidence.laterals_seen =
      std::max(1.0, evidence.typical.across_m / made.actual.plan.lateral_spacing_m);
  const Headland headland = recognise_headland(made.system, *reader_of(made.relative), {});
  mark_headland(evidence, made.system, headland.width_m);
  made.stripes =
      machine_stripes(made.system, *reader_of(made.relative), made.implement_widths_m, {});
  mark_machine_stripes(evidence, made.system, made.stripes);
}

inline ConditionField made_condition_field(const ConditionScenario& s) {
  ConditionField made;
  made.scenario = s;
  run_water(s, made);
  survey_field(made);
  if (s.trouble == ConditionTrouble::machine_told) {
    Chance chance = chance_of(s, ConditionPart::machine);
    chance.even();  // of the phase
    made.implement_widths_m = {made.actual.plan.lateral_spacing_m *
                               drawn(chance, implement_spacings)};
  }
  see_crop(worked_crop(made, standing_crop(made, soil_of(s), SoilPattern(made.actual))), made);
  return made;
}

}  // namespace evendrip::bench
