// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>

#include <fmt/format.h>

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

// Shares beyond which a doubt is told: graduation of a catch, pressures of one port, filling of a
// set. Common practice, no source.
constexpr double coarse_graduation = 0.02;
constexpr double mixed_pressures = 0.10;
constexpr double long_filling = 0.10;
constexpr double rounding = 1e-9;  // a CV below it is no difference

std::size_t index(int i) {
  return static_cast<std::size_t>(i);
}

const SurveySource* source_of(const Field& field, const Survey& survey) {
  const auto found = std::find_if(field.surveys.begin(), field.surveys.end(),
                                  [&](const SurveySource& s) { return s.id == survey.id; });
  return found == field.surveys.end() ? nullptr : &*found;
}

std::string about_graduation(const Field& field, const Survey& survey, int zone) {
  const SurveySource* source = source_of(field, survey);
  if (source == nullptr || !(source->volume_graduation_ml > 0)) return "";
  int coarse = 0, catches = 0;
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (!emitter.usable() || emitter.site.zone != zone) continue;
    for (const std::size_t r : emitter.records) {
      const double volume = survey.records[r].volume_ml;
      if (!(volume > 0)) continue;
      ++catches;
      if (source->volume_graduation_ml > coarse_graduation * volume) ++coarse;
    }
  }
  if (coarse == 0) return "";
  return fmt::format(
      "{} of {} catches {} so small that one graduation ({}) is over {:.0f} % of {}: reading "
      "scatters {}.",
      coarse, catches, coarse == 1 ? "is" : "are",
      format_quantity(source->volume_graduation_ml, Dimension::volume, field.report_units, 3),
      100 * coarse_graduation, coarse == 1 ? "it" : "them", coarse == 1 ? "it" : "them");
}

std::string about_pressures(const Field& field, const Survey& survey, int zone) {
  std::map<int, std::pair<double, double>> ranges;
  for (const PressureReading& reading : survey.pressures) {
    if (reading.port < 0 || reading.running == "flushing") continue;
    const std::vector<int>& zones = field.ports[index(reading.port)].zones;
    if (std::find(zones.begin(), zones.end(), zone) == zones.end()) continue;
    const auto [at, first] =
        ranges.try_emplace(reading.port, reading.pressure_kpa, reading.pressure_kpa);
    if (first) continue;
    at->second.first = std::min(at->second.first, reading.pressure_kpa);
    at->second.second = std::max(at->second.second, reading.pressure_kpa);
  }
  for (const auto& [port, range] : ranges) {
    if (range.second - range.first <= mixed_pressures * range.second) continue;
    return fmt::format(
        "Port {} was read at pressures from {} to {}: emitters measured at different pressures "
        "differ for that reason too, and the figures do not part it from clogging.",
        field.ports[index(port)].id,
        format_quantity(range.first, Dimension::pressure, field.report_units, 3),
        format_quantity(range.second, Dimension::pressure, field.report_units, 3));
  }
  return "";
}

std::string about_numbers(const Field& field, const Survey& survey, int zone) {
  std::map<int, int> measured;
  int no_lateral = 0;
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (!emitter.usable() || emitter.site.zone != zone) continue;
    if (emitter.site.lateral >= 0) {
      ++measured[emitter.site.lateral];
    } else {
      ++no_lateral;
    }
  }
  std::string told;
  for (const auto& [lateral, count] : measured) {
    const Lateral& of = field.laterals[index(lateral)];
    if (of.emitters == 0 || count <= of.emitters) continue;
    told += fmt::format(
        "Lateral {} has {} emitters by its spacing, yet {} were measured on it: check spacing and "
        "records. ",
        of.id, of.emitters, count);
  }
  if (no_lateral > 0) {
    told += fmt::format(
        "{} could not be told to one lateral: counted in the zone, left out of what is said "
        "between and within laterals. ",
        no_lateral == 1 ? "One emitter" : fmt::format("{} emitters", no_lateral));
  }
  if (!told.empty()) told.pop_back();
  return told;
}

std::string about_sets(const Evaluation& evaluation, int zone) {
  const Irrigation& irrigation = evaluation.watering.irrigation;
  const auto& set = irrigation.set_time_s;
  const auto filling = filling_time_s(evaluation.field, evaluation.expectation, zone);
  if (!set || !filling) return "";
  const double pulse_s = *set / irrigation.pulses.value_or(1);
  if (*filling <= long_filling * pulse_s) return "";
  return fmt::format(
      "Water runs for {:.0f} min at a time and the lines take about {:.0f} min to fill: the steady "
      "discharges told here do not describe what plants get from sets so short.",
      pulse_s / 60, *filling / 60);
}

std::string about_equal_readings(const EvaluatedPart& part) {
  if (!part.emitters.told || part.emitters.cv > rounding) return "";
  return fmt::format(
      "All {} readings are equal: what differs between the emitters is smaller than can be read, "
      "or the readings were not taken one by one; limits cannot be drawn from them.",
      part.emitters.count);
}

}  // namespace

std::optional<double> filling_time_s(const Field& field, const Expectation& expectation, int zone) {
  const Zone& of = field.zones[index(zone)];
  const auto litres = [](double diameter_mm, double length_m) {
    return std::numbers::pi / 4 * diameter_mm * diameter_mm * 1e-3 * length_m;
  };
  double volume_l = 0;
  int emitters = 0;
  for (const Lateral& lateral : field.laterals) {
    if (lateral.zone != zone) continue;
    volume_l += litres(of.lateral.inside_diameter_mm, lateral.length_m);
    emitters += lateral.emitters;
  }
  double flow_lph = of.emitter.discharge_lph * emitters;
  for (const ExpectedZone& expected : expectation.zones) {
    if (expected.zone == zone && expected.computed) flow_lph = expected.total_lph;
  }
  if (!(volume_l > 0 && flow_lph > 0)) return std::nullopt;
  return 3600 * volume_l / flow_lph;
}

std::vector<std::string> data_statements(const Scope& scope, const EvaluatedPart& part) {
  const Field& field = scope.evaluation.field;
  const Survey& survey = scope.survey;
  std::vector<std::string> told;
  if (!part.emitters.told) told.push_back("Uniformity is not told: " + part.emitters.why_not + ".");
  for (std::string text :
       {about_equal_readings(part), about_pressures(field, survey, part.zone),
        about_sets(scope.evaluation, part.zone), about_numbers(field, survey, part.zone),
        about_graduation(field, survey, part.zone)}) {
    if (!text.empty()) told.push_back(std::move(text));
  }
  return told;
}

}  // namespace evendrip
