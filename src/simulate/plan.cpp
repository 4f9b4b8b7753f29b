// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/plan.hpp"

#include "evendrip/io/toml.hpp"
#include "evendrip/units/quantity.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace evendrip {
namespace {

// The three lists of keys below serve reading and writing alike: a visitor is given each key with
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
  visit.quantity("depth", plan.depth_m, Dimension::length);
  visit.count("installed_year", plan.installed_year);
  visit.number("manufacturing_cv", plan.manufacturing_cv);
  visit.number("plugged_share", plan.plugged_share);
  visit.number("far_end_fall", plan.far_end_fall);
  visit.number("manifold_end_fall", plan.manifold_end_fall);
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

template <typename Visitor>
void visit_fault(SimulatedFault& fault, Visitor& visit) {
  visit.text("kind", fault.kind);
  visit.text("zone", fault.zone);
  visit.count("first_lateral", fault.first_lateral);
  visit.count("last_lateral", fault.last_lateral);
  visit.quantity("from_station", fault.from_station_m, Dimension::length);
  visit.quantity("gradual", fault.gradual_m, Dimension::length);
  visit.number("factor", fault.factor);
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
  check.in("inside_diameter_mm", plan.inside_diameter_mm, 4, 100);
  check.in("depth", plan.depth_m, 0.01, 2);
  check.in("manufacturing_cv", plan.manufacturing_cv, 0, 0.3);
  check.in("plugged_share", plan.plugged_share, 0, 1);
  check.in("far_end_fall", plan.far_end_fall, 0, 0.5);
  check.in("manifold_end_fall", plan.manifold_end_fall, 0, 0.5);
  check.in("slope_frac", plan.slope_frac, -0.02, 0.02);
  check.in("cross_slope_frac", plan.cross_slope_frac, -0.02, 0.02);
}

void check_survey_and_crop(const SimulationPlan& plan, Checks& check) {
  check.name("survey_id", plan.survey_id);
  check.date("survey_date", plan.survey_date);
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

void check_tables(const SimulationPlan& plan, Checks& check) {
  std::vector<std::string> ids;
  for (int i = 1; i <= plan.zones; ++i) ids.push_back(fmt::format("Z{}", i));
  for (const std::string& id : plan.closed_zones) check.one_of("closed_zones", id, ids);
  check.prefix = "fault.";
  for (const SimulatedFault& fault : plan.faults) {
    check.one_of("zone", fault.zone,
                 fault.kind == "pinch" && !plan.closed_zones.empty() ? plan.closed_zones : ids);
    check.one_of("kind", fault.kind,
                 plan.closed_zones.empty() ? std::vector<std::string>{"clogging"}
                                           : std::vector<std::string>{"clogging", "pinch"});
    check.in("first_lateral", fault.first_lateral, 1, plan.laterals_per_zone);
    check.in("last_lateral", fault.last_lateral, fault.first_lateral, plan.laterals_per_zone);
    check.in("from_station", fault.from_station_m, 0, plan.lateral_length_m);
    check.in("gradual", fault.gradual_m, 0, plan.lateral_length_m);
    check.in("factor", fault.factor, 0, 1);
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

std::vector<PlanProblem> problems_of(const SimulationPlan& plan) {
  Checks check;
  check_layout(plan, check);
  check_survey_and_crop(plan, check);
  check_tables(plan, check);
  return check.found;
}

SimulationPlan read_plan(const std::filesystem::path& file) {
  const std::string name = file.string();
  const TomlTable top = read_toml(file, name);
  SimulationPlan plan;
  Doubts doubts;
  TomlReader reader(top, name, "", doubts);
  Reading reading(reader);
  visit_layout(plan, reading);
  visit_survey_and_crop(plan, reading);
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
