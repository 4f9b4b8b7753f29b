// SPDX-License-Identifier: Apache-2.0
// What a plan asks for that cannot be made.
#include "evendrip/simulate/plan.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace evendrip {
namespace {

/// Collects what is wrong, key by key.
class Checks {
 public:
  void in(const char* key, double value, double least, double most) {
    if (value >= least && value <= most) return;
    found.push_back(
        {prefix + key, item, fmt::format("{}", value), fmt::format("{} to {}", least, most)});
  }
  void one_of(const char* key, const std::string& value, const std::vector<std::string>& choices) {
    if (std::find(choices.begin(), choices.end(), value) != choices.end()) return;
    found.push_back({prefix + key, item, value, fmt::format("{}", fmt::join(choices, ", "))});
  }
  void date(const char* key, const std::string& value) {
    bool good = value.size() == 10;
    for (std::size_t i = 0; good && i < value.size(); ++i) {
      const bool digit = value[i] >= '0' && value[i] <= '9';
      good = i == 4 || i == 7 ? value[i] == '-' : digit;
    }
    if (!good) found.push_back({prefix + key, item, value, "a date like 2026-05-12"});
  }
  /// A name that may become a folder.
  void name(const char* key, const std::string& value) {
    const bool good = !value.empty() && value.front() != '.' &&
                      std::all_of(value.begin(), value.end(), [](char c) {
                        return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') ||
                               (c >= 'A' && c <= 'Z') || c == '-' || c == '_' || c == '.';
                      });
    if (!good) {
      found.push_back({prefix + key, item, value, "letters, digits, hyphen, underscore, point"});
    }
  }
  std::string prefix;
  std::size_t item = 0;
  std::vector<PlanProblem> found;
};

void check_layout(const SimulationPlan& plan, Checks& check) {
  check.in("longitude", plan.lonlat_centre.x, -180, 180);
  check.in("latitude", plan.lonlat_centre.y, -75, 75);
  check.in("zones", plan.zones, 1, 20);
  check.in("laterals_per_zone", plan.laterals_per_zone, 1, 1000);
  check.in("lateral_length", plan.lateral_length_m, 10, 1000);
  check.in("lateral_spacing", plan.lateral_spacing_m, 0.2, 20);
  check.in("bearing_deg", plan.bearing_deg, -360, 360);
  check.in("emitter_spacing", plan.emitter_spacing_m, 0.05, 10);
  check.in("discharge", plan.discharge_lph, 0.05, 50);
  check.in("rated_pressure", plan.rated_pressure_kpa, 10, 1000);
  check.in("exponent", plan.exponent, 0.05, 1);
  check.in("inlet_pressure", plan.inlet_pressure_kpa, 10, 1000);
  check.in("depth", plan.depth_m, 0.01, 2);
  check.in("manufacturing_cv", plan.manufacturing_cv, 0, 0.3);
  check.in("plugged_share", plan.plugged_share, 0, 1);
  check.in("slope_frac", plan.slope_frac, -0.02, 0.02);
  check.in("cross_slope_frac", plan.cross_slope_frac, -0.02, 0.02);
}

void check_pipes(const SimulationPlan& plan, Checks& check) {
  // Bores that a network takes as they stand, without asking for a slip of units.
  check.in("inside_diameter_mm", plan.inside_diameter_mm, 8, 45);
  if (plan.max_pressure_kpa != 0) check.in("max_pressure", plan.max_pressure_kpa, 10, 2000);
  for (const double diameter_m : plan.manifold_diameters_m) {
    check.in("manifold_diameter", diameter_m, 0.016, 0.35);
  }
  if (plan.manifold_diameters_m.empty()) {
    check.found.push_back({"manifold_diameter", 0, "none", "one diameter or more"});
  }
  check.in("flush_manifold_diameter", plan.flush_manifold_diameter_m, 0.016, 0.35);
  check.in("roughness_mm", plan.roughness_mm, 0, 2);
  if (plan.hazen_williams_c != 0) check.in("hazen_williams_c", plan.hazen_williams_c, 60, 170);
  check.in("in_soil_ratio", plan.in_soil_ratio, 0.1, 1);
  check.in("valve_loss", plan.valve_loss_kpa, 0, 1000);
  check.in("main_loss", plan.main_loss_kpa, 0, 1000);
  check.in("filter_loss", plan.filter_loss_kpa, 0, 1000);
  check.in("check_valve_loss", plan.check_valve_loss_kpa, 0, 1000);
  check.in("water_temperature", plan.water_temperature_c, 1, 60);
}

void check_survey_and_crop(const SimulationPlan& plan, Checks& check) {
  check.name("survey_id", plan.survey_id);
  check.date("survey_date", plan.survey_date);
  if (!plan.commissioning_date.empty()) check.date("commissioning_date", plan.commissioning_date);
  check.date("canopy_date", plan.canopy_date);
  check.date("yield_date", plan.yield_date);
  check.in("laterals_dug", plan.laterals_dug, 0, plan.laterals_per_zone);
  check.in("emitters_per_lateral", plan.emitters_per_lateral, 1,
           plan.lateral_length_m / plan.emitter_spacing_m / 8);
  check.in("replicate_share", plan.replicate_share, 0, 1);
  check.in("measuring_cv", plan.measuring_cv, 0, 0.2);
  check.in("volume_graduation", plan.volume_graduation_ml, 0.1, 100);
  check.in("duration", plan.duration_s, 10, 7200);
  check.in("gps_accuracy", plan.gps_accuracy_m, 0.005, 20);
  check.in("gps_only_share", plan.gps_only_share, 0, 1);
  check.in("gauge_accuracy", plan.gauge_accuracy_kpa, 0, 50);
  check.in("meter_accuracy_frac", plan.meter_accuracy_frac, 0, 0.2);
  check.in("water_response", plan.water_response, 0, 2);
  check.in("soil_sd", plan.soil_sd, 0, 0.3);
  if (plan.biomass_pixel_m != 0) check.in("biomass_pixel", plan.biomass_pixel_m, 0.5, 100);
  if (plan.yield_swath_m != 0) check.in("yield_swath", plan.yield_swath_m, 1, 20);
  check.in("yield", plan.yield_t_ha, 0.1, 200);
  check.one_of("canopy", plan.canopy, {"biomass", "canopy_temperature"});
}

/// 0 is not stated; the ranges are those in which field.toml takes a value without a doubt.
void check_watering(const SimulationPlan& plan, Checks& check) {
  const auto stated = [&check](const char* key, double value, double least, double most) {
    if (value != 0) check.in(key, value, least, most);
  };
  stated("set_time", plan.set_time_s, 300, 7.0 * 86400);
  stated("pulses", plan.pulses, 1, 1000);
  stated("season_depth", plan.season_depth_mm, 20, 3000);
  stated("season_net_need", plan.season_net_need_mm, 20, 3000);
  stated("emitters_per_root_zone", plan.emitters_per_root_zone, 1, 100);
  stated("season_et", plan.season_et_mm, 20, 3000);
  stated("season_effective_rain", plan.season_effective_rain_mm, 20, 3000);
}

void check_fault(const SimulationPlan& plan, const SimulatedFault& fault,
                 const std::vector<std::string>& ids, Checks& check) {
  check.one_of("zone", fault.zone, ids);
  check.one_of("kind", fault.kind, {"clogging", "pinch", "shut", "cut"});
  const bool closed = std::find(plan.closed_zones.begin(), plan.closed_zones.end(), fault.zone) !=
                      plan.closed_zones.end();
  if (fault.kind == "clogging") {
    check.one_of("on", fault.on, {"laterals"});
    check.in("factor", fault.factor, 0, 1);
    check.in("gradual", fault.gradual_m, 0, plan.lateral_length_m);
  } else if (closed) {
    check.one_of("on", fault.on, {"laterals", "manifold"});
  } else {
    check.one_of("on", fault.on, {"laterals", "manifold", "flush_manifold"});
  }
  if (fault.kind == "pinch") check.in("severity", fault.severity, 0, 0.9999);
  if (fault.kind == "cut") check.in("severity", fault.severity, 1e-6, 2);
  if (fault.on == "laterals") {
    check.in("first_lateral", fault.first_lateral, 1, plan.laterals_per_zone);
    check.in("last_lateral", fault.last_lateral, fault.first_lateral, plan.laterals_per_zone);
    check.in("from_station", fault.from_station_m, 0, plan.lateral_length_m);
  } else {
    check.in("from_station", fault.from_station_m, 0,
             plan.laterals_per_zone * plan.lateral_spacing_m);
  }
}

void check_tables(const SimulationPlan& plan, Checks& check) {
  std::vector<std::string> ids;
  for (int i = 1; i <= plan.zones; ++i) ids.push_back(fmt::format("Z{}", i));
  for (const std::string& id : plan.closed_zones) check.one_of("closed_zones", id, ids);
  check.prefix = "fault.";
  for (const SimulatedFault& fault : plan.faults) {
    check_fault(plan, fault, ids, check);
    ++check.item;
  }
  check.prefix = "soil_patch.";
  check.item = 0;
  for (const SimulatedSoilPatch& patch : plan.soil_patches) {
    check.one_of("zone", patch.zone, ids);
    check.in("lateral", patch.lateral, 1, plan.laterals_per_zone);
    check.in("station", patch.station_m, 0, plan.lateral_length_m);
    check.in("radius", patch.radius_m, 0.5, 1000);
    check.in("factor", patch.factor, 0, 2);
    ++check.item;
  }
}

}  // namespace

std::vector<PlanProblem> problems_of(const SimulationPlan& plan) {
  Checks check;
  check_layout(plan, check);
  check_pipes(plan, check);
  check_survey_and_crop(plan, check);
  check_watering(plan, check);
  check_tables(plan, check);
  return check.found;
}

}  // namespace evendrip
