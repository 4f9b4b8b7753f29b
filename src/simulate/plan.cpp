// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/plan.hpp"

#include "evendrip/io/toml.hpp"
#include "evendrip/units/quantity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <utility>

namespace evendrip {
namespace {

// The lists of keys below serve reading and writing alike: a visitor is given each key with
// the member that it stands for.

template <typename Visitor>
void visit_layout(SimulationPlan& plan, Visitor& visit) {
  visit.text("name", plan.name);
  visit.text("about", plan.about);
  visit.count("seed", plan.seed);
  visit.text("layers_crs", plan.layers_crs);
  visit.text("crs", plan.crs);
  visit.flag("us_units", plan.us_units);
  visit.number("longitude", plan.lonlat_centre.x);
  visit.number("latitude", plan.lonlat_centre.y);
  visit.count("zones", plan.zones);
  visit.count("laterals_per_zone", plan.laterals_per_zone);
  visit.quantity("lateral_length", plan.lateral_length_m, Dimension::length);
  visit.quantity("lateral_spacing", plan.lateral_spacing_m, Dimension::length);
  visit.number("bearing_deg", plan.bearing_deg);
  visit.texts("closed_zones", plan.closed_zones);
  visit.flag("mixed_directions", plan.mixed_directions);
  visit.quantity("emitter_spacing", plan.emitter_spacing_m, Dimension::length);
  visit.quantity("discharge", plan.discharge_lph, Dimension::discharge);
  visit.quantity("rated_pressure", plan.rated_pressure_kpa, Dimension::pressure);
  visit.number("exponent", plan.exponent);
  visit.quantity("inlet_pressure", plan.inlet_pressure_kpa, Dimension::pressure);
  visit.number("inside_diameter_mm", plan.inside_diameter_mm);
  visit.quantity("max_pressure", plan.max_pressure_kpa, Dimension::pressure);
  visit.quantities("manifold_diameter", plan.manifold_diameters_m, Dimension::length);
  visit.quantity("flush_manifold_diameter", plan.flush_manifold_diameter_m, Dimension::length);
  visit.number("roughness_mm", plan.roughness_mm);
  visit.number("hazen_williams_c", plan.hazen_williams_c);
  visit.quantity("depth", plan.depth_m, Dimension::length);
  visit.count("installed_year", plan.installed_year);
  visit.number("manufacturing_cv", plan.manufacturing_cv);
  visit.number("plugged_share", plan.plugged_share);
  visit.number("in_soil_ratio", plan.in_soil_ratio);
  visit.number("slope_frac", plan.slope_frac);
  visit.number("cross_slope_frac", plan.cross_slope_frac);
  visit.quantity("elevation", plan.elevation_m, Dimension::length);
}

template <typename Visitor>
void visit_survey_and_crop(SimulationPlan& plan, Visitor& visit) {
  visit.text("survey_id", plan.survey_id);
  visit.date("survey_date", plan.survey_date);
  visit.count("laterals_dug", plan.laterals_dug);
  visit.count("emitters_per_lateral", plan.emitters_per_lateral);
  visit.number("replicate_share", plan.replicate_share);
  visit.number("measuring_cv", plan.measuring_cv);
  visit.quantity("volume_graduation", plan.volume_graduation_ml, Dimension::volume);
  visit.quantity("duration", plan.duration_s, Dimension::time);
  visit.quantity("gps_accuracy", plan.gps_accuracy_m, Dimension::length);
  visit.number("gps_only_share", plan.gps_only_share);
  visit.flag("gps_only", plan.gps_only);
  visit.quantity("gauge_accuracy", plan.gauge_accuracy_kpa, Dimension::pressure);
  visit.number("meter_accuracy_frac", plan.meter_accuracy_frac);
  visit.quantity("valve_loss", plan.valve_loss_kpa, Dimension::pressure);
  visit.quantity("main_loss", plan.main_loss_kpa, Dimension::pressure);
  visit.quantity("filter_loss", plan.filter_loss_kpa, Dimension::pressure);
  visit.quantity("check_valve_loss", plan.check_valve_loss_kpa, Dimension::pressure);
  visit.optional_date("commissioning_date", plan.commissioning_date);
  visit.quantity("water_temperature", plan.water_temperature_c, Dimension::temperature);
  visit.text("crop", plan.crop);
  visit.number("water_response", plan.water_response);
  visit.number("soil_sd", plan.soil_sd);
  visit.quantity("biomass_pixel", plan.biomass_pixel_m, Dimension::length);
  visit.text("canopy", plan.canopy);
  visit.date("canopy_date", plan.canopy_date);
  visit.number("canopy_noise_sd", plan.canopy_noise_sd);
  visit.quantity("yield_swath", plan.yield_swath_m, Dimension::length);
  visit.date("yield_date", plan.yield_date);
  visit.quantity("yield", plan.yield_t_ha, Dimension::yield);
  visit.number("yield_noise_cv", plan.yield_noise_cv);
}

/// What stays unsaid in field.toml unless a plan says it.
template <typename Visitor>
void visit_watering(SimulationPlan& plan, Visitor& visit) {
  visit.optional_quantity("set_time", plan.set_time_s, Dimension::time);
  visit.optional_count("pulses", plan.pulses);
  visit.optional_quantity("season_depth", plan.season_depth_mm, Dimension::depth);
  visit.optional_quantity("season_net_need", plan.season_net_need_mm, Dimension::depth);
  visit.optional_count("emitters_per_root_zone", plan.emitters_per_root_zone);
  visit.optional_quantity("season_et", plan.season_et_mm, Dimension::depth);
  visit.optional_quantity("season_effective_rain", plan.season_effective_rain_mm, Dimension::depth);
}

/// Each kind has keys of its own; those of another kind are unknown keys.
template <typename Visitor>
void visit_fault(SimulatedFault& fault, Visitor& visit) {
  visit.text("kind", fault.kind);
  visit.text("zone", fault.zone);
  const bool clogging = fault.kind == "clogging";
  if (!clogging) visit.text("on", fault.on);
  if (fault.on == "laterals") {
    visit.count("first_lateral", fault.first_lateral);
    visit.count("last_lateral", fault.last_lateral);
  }
  visit.quantity("from_station", fault.from_station_m, Dimension::length);
  if (clogging) {
    visit.quantity("gradual", fault.gradual_m, Dimension::length);
    visit.number("factor", fault.factor);
  } else if (fault.kind != "shut") {
    visit.number("severity", fault.severity);
  }
}

template <typename Visitor>
void visit_patch(SimulatedSoilPatch& patch, Visitor& visit) {
  visit.text("zone", patch.zone);
  visit.count("lateral", patch.lateral);
  visit.quantity("station", patch.station_m, Dimension::length);
  visit.quantity("radius", patch.radius_m, Dimension::length);
  visit.number("factor", patch.factor);
}

class Reading {
 public:
  explicit Reading(TomlReader& reader) : reader_(reader) {}
  void text(const char* key, std::string& value) { take(reader_.text(key), value); }
  void date(const char* key, std::string& value) { take(reader_.date(key), value); }
  void flag(const char* key, bool& value) { take(reader_.flag(key), value); }
  void number(const char* key, double& value) { take(reader_.number(key), value); }
  void quantity(const char* key, double& value, Dimension dimension) {
    take(reader_.quantity(key, dimension), value);
  }
  void quantities(const char* key, std::vector<double>& value, Dimension dimension) {
    std::vector<double> found = reader_.quantities(key, dimension);
    if (!found.empty()) value = std::move(found);
  }
  void optional_date(const char* key, std::string& value) { date(key, value); }
  void optional_quantity(const char* key, double& value, Dimension dimension) {
    quantity(key, value, dimension);
  }
  template <typename Integer>
  void optional_count(const char* key, Integer& value) {
    count(key, value);
  }
  void texts(const char* key, std::vector<std::string>& value) {
    if (reader_.has(key)) value = reader_.texts(key);
  }
  template <typename Integer>
  void count(const char* key, Integer& value) {
    const auto found = reader_.integer(key);
    if (!found) return;
    if (*found < 0 || *found > most<Integer>()) {
      reader_.problem(key, "bad_value", "This count cannot be used", fmt::format("{}", *found),
                      fmt::format("0 to {}", most<Integer>()));
      return;
    }
    value = static_cast<Integer>(*found);
  }

 private:
  template <typename Integer>
  static constexpr std::int64_t most() {
    return sizeof(Integer) < sizeof(std::int64_t) ? std::numeric_limits<std::int32_t>::max()
                                                  : std::numeric_limits<std::int64_t>::max();
  }
  template <typename T>
  static void take(const std::optional<T>& found, T& value) {
    if (found) value = *found;
  }
  TomlReader& reader_;
};

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (c == '\n') {
      out += "\\n";
    } else if (static_cast<unsigned char>(c) >= 0x20) {
      out += c;
    }
  }
  return out + "\"";
}

/// A number that TOML reads as one with a fraction.
std::string fraction_text(double value) {
  std::string text = fmt::format("{}", value);
  if (text.find_first_of(".e") == std::string::npos) text += ".0";
  return text;
}

class Writing {
 public:
  void text(const char* key, const std::string& value) { line(key, quoted(value)); }
  void date(const char* key, const std::string& value) { line(key, value); }
  void flag(const char* key, bool value) { line(key, value ? "true" : "false"); }
  void number(const char* key, double value) { line(key, fraction_text(value)); }
  void quantity(const char* key, double value, Dimension dimension) {
    line(key, quoted(fmt::format("{} {}", value, accepted_units(dimension).front())));
  }
  void quantities(const char* key, const std::vector<double>& values, Dimension dimension) {
    std::string list;
    for (const double value : values) {
      list += (list.empty() ? "" : ", ") +
              quoted(fmt::format("{} {}", value, accepted_units(dimension).front()));
    }
    line(key, "[" + list + "]");
  }
  void optional_date(const char* key, const std::string& value) {
    if (!value.empty()) date(key, value);
  }
  void optional_quantity(const char* key, double value, Dimension dimension) {
    if (value != 0) quantity(key, value, dimension);
  }
  template <typename Integer>
  void optional_count(const char* key, Integer value) {
    if (value != 0) count(key, value);
  }
  void texts(const char* key, const std::vector<std::string>& values) {
    std::string list;
    for (const std::string& value : values) list += (list.empty() ? "" : ", ") + quoted(value);
    line(key, "[" + list + "]");
  }
  template <typename Integer>
  void count(const char* key, Integer value) {
    line(key, fmt::format("{}", value));
  }
  void line(const char* key, const std::string& value) {
    out += fmt::format("{} = {}\n", key, value);
  }
  std::string out;
};

/// A checked key as the file writes it: itself, or with the unit at its end.
std::string key_as_written(const TomlTable& table, const std::string& key) {
  for (const TomlEntry& entry : table) {
    if (entry.key == key || entry.key.rfind(key + "_", 0) == 0) return entry.key;
  }
  return key;
}

void report(const TomlTable& top, const std::string& file, const PlanProblem& problem,
            Doubts& doubts) {
  const std::size_t dot = problem.key.find('.');
  const TomlTable* table = &top;
  std::string path;
  std::string key = problem.key;
  if (dot != std::string::npos) {
    path = key.substr(0, dot);
    key = key.substr(dot + 1);
    TomlReader reader(top, file, "", doubts);
    table = reader.tables(path).at(problem.item);
  }
  TomlReader reader(*table, file, path, doubts);
  reader.problem(key_as_written(*table, key), "bad_plan", "This plan cannot be made", problem.found,
                 problem.expected);
}

}  // namespace

SimulationPlan read_plan(const std::filesystem::path& file) {
  const std::string name = file.string();
  const TomlTable top = read_toml(file, name);
  SimulationPlan plan;
  Doubts doubts;
  TomlReader reader(top, name, "", doubts);
  Reading reading(reader);
  visit_layout(plan, reading);
  visit_survey_and_crop(plan, reading);
  visit_watering(plan, reading);
  for (const TomlTable* table : reader.tables("fault")) {
    TomlReader keys(*table, name, "fault", doubts);
    Reading fault(keys);
    visit_fault(plan.faults.emplace_back(), fault);
    keys.finish();
  }
  for (const TomlTable* table : reader.tables("soil_patch")) {
    TomlReader keys(*table, name, "soil_patch", doubts);
    Reading patch(keys);
    visit_patch(plan.soil_patches.emplace_back(), patch);
    keys.finish();
  }
  reader.finish();
  for (const PlanProblem& problem : problems_of(plan)) report(top, name, problem, doubts);
  throw_if_problem(doubts);
  return plan;
}

std::string plan_as_toml(const SimulationPlan& plan) {
  SimulationPlan copy = plan;
  Writing writing;
  visit_layout(copy, writing);
  visit_survey_and_crop(copy, writing);
  visit_watering(copy, writing);
  for (SimulatedFault& fault : copy.faults) {
    writing.out += "\n[[fault]]\n";
    visit_fault(fault, writing);
  }
  for (SimulatedSoilPatch& patch : copy.soil_patches) {
    writing.out += "\n[[soil_patch]]\n";
    visit_patch(patch, writing);
  }
  return writing.out;
}

}  // namespace evendrip
