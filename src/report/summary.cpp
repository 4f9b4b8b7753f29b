// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/summary.hpp"

#include "condition_json.hpp"
#include "condition_text.hpp"
#include "hydraulics_summary.hpp"
#include "json_values.hpp"
#include "surface_summary.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

namespace evendrip {
namespace {

using Json = nlohmann::ordered_json;

Json uniformity_json(const UniformityResult& u) {
  Json out = {{"name", u.name},       {"area_ha", u.area_ha}, {"emitters", u.emitters},
              {"plugged", u.plugged}, {"damaged", u.damaged}, {"not_found", u.not_found}};
  if (u.emitters == 0) return out;
  out.update({{"mean_lph", u.mean_lph},
              {"median_lph", u.median_lph},
              {"cv", u.cv},
              {"low_quarter_frac", u.low_quarter_frac},
              {"christiansen_frac", u.christiansen_frac},
              {"statistical_frac", u.statistical_frac}});
  return out;
}

Json findings_json(const Story& story) {
  Json list = Json::array();
  for (const Finding& f : story.findings.list) {
    list.push_back(
        {{"id", f.id},
         {"kind", to_text(f.kind)},
         {"zone", f.zone < 0 ? Json(nullptr)
                             : Json(story.field.zones[static_cast<std::size_t>(f.zone)].id)},
         {"area_ha", f.area_ha},
         {"mean_relative", finite(f.mean_relative)},
         {"mean_discharge_lph", finite(f.mean_discharge_lph)},
         {"mean_crop", finite(f.mean_crop)},
         {"advice", advice_for(f.kind)}});
  }
  return list;
}

Json doubt_json(const Doubt& d) {
  return {{"severity", to_text(d.severity)},
          {"code", d.code},
          {"file", d.place.file},
          {"layer", d.place.layer},
          {"row", d.place.row},
          {"column", d.place.column},
          {"text", d.text},
          {"found", d.found},
          {"expected", d.expected},
          {"remedy", d.remedy}};
}

Json doubt_list(const Doubts& doubts) {
  Json list = Json::array();
  for (const Doubt& doubt : doubts) list.push_back(doubt_json(doubt));
  return list;
}

std::string percent(double frac) {
  return fmt::format("{:.1f} %", 100 * frac);
}

std::string uniformity_text(const Story& story) {
  const UnitSystem units = story.field.report_units;
  std::string out = fmt::format(
      "Uniformity of {} measured emitters (low quarter: {})\n"
      "  {:<10}{:>9}{:>9}{:>13}{:>8}{:>12}{:>14}{:>13}\n",
      story.uniformity.field.emitters, to_text(story.uniformity.rule), "zone", "emitters",
      "plugged", "mean", "CV", "low quarter", "Christiansen", "statistical");
  auto rows = story.uniformity.zones;
  rows.push_back(story.uniformity.field);
  for (const UniformityResult& u : rows) {
    if (u.emitters == 0) {
      out += fmt::format("  {:<10}{:>9}  no emitter measured\n", u.name, 0);
      continue;
    }
    out += fmt::format(
        "  {:<10}{:>9}{:>9}{:>13}{:>8.3f}{:>12}{:>14}{:>13}\n", u.name, u.emitters, u.plugged,
        format_quantity(u.mean_lph, Dimension::discharge, units, 3, EndZeros::kept), u.cv,
        percent(u.low_quarter_frac), percent(u.christiansen_frac), percent(u.statistical_frac));
  }
  return out;
}

std::string findings_text(const Story& story) {
  if (story.findings.list.empty()) return "Low places: none larger than the smallest area.\n";
  const UnitSystem units = story.field.report_units;
  std::string out = "Low places, most urgent first\n";
  for (const Finding& f : story.findings.list) {
    out += fmt::format("  {:<4}{:<20}{:>12}", f.id, to_text(f.kind),
                       format_quantity(f.area_ha, Dimension::area, units, 3, EndZeros::kept));
    if (f.zone >= 0) {
      out += fmt::format("  zone {}", story.field.zones[static_cast<std::size_t>(f.zone)].id);
    }
    if (std::isfinite(f.mean_relative)) {
      out += fmt::format("  discharge {:.0f} % of {}", 100 * f.mean_relative,
                         reference_in(story, f.zone) == ReferenceKind::clean_system
                             ? "a clean system's"
                             : "the zone median");
    }
    if (std::isfinite(f.mean_crop)) out += fmt::format(", crop {:.0f} %", 100 * f.mean_crop);
    out += '\n';
  }
  return out;
}

}  // namespace

std::string summary_json(const Story& story) {
  Json out = {{"schema", "evendrip-results/1"},
              {"version", story.version},
              {"libraries", story.libraries},
              {"seed", story.seed},
              {"field", story.field.name},
              {"survey", {{"id", story.survey.id}, {"date", story.survey.date}}},
              {"crs", {{"name", story.field.crs.name}, {"code", story.field.crs.code}}},
              {"grid_over_ground_length", story.field.scale_factor}};
  for (const InputFile& input : story.field.inputs) {
    out["inputs"].push_back({{"file", input.as_written}, {"sha256", input.sha256}});
  }
  Json& uniformity = out["uniformity"];
  uniformity["low_quarter_rule"] = to_text(story.uniformity.rule);
  uniformity["field"] = uniformity_json(story.uniformity.field);
  uniformity["field_low_quarter_area_weighted_frac"] =
      story.uniformity.field_low_quarter_area_weighted_frac;
  for (const auto& zone : story.uniformity.zones)
    uniformity["zones"].push_back(uniformity_json(zone));
  out["hydraulics"] = hydraulics_json(story);
  out["surface"] = surface_json(story);
  out["condition"] = condition_json(story);
  out["crops"] = Json::array();
  for (const CropStory& crop : story.crops) {
    out["crops"].push_back({{"id", crop.layer.id},
                            {"kind", crop.layer.kind},
                            {"median", finite(crop.layer.median)},
                            {"method", crop.layer.method_text}});
  }
  out["crop_of_findings"] = story.crop_of_findings;
  out["findings"] = findings_json(story);
  out["findings_left_out"] = {{"patches", story.findings.left_out},
                              {"area_ha", story.findings.left_out_ha},
                              {"smallest_area_m2", story.findings.smallest_area_m2}};
  out["visits"] = {{"places", story.visits.visits.size()},
                   {"left_out", story.visits.left_out},
                   {"walk_m", story.visits.walk_m}};
  out["not_computed"] = not_computed_of(story);
  out["doubts"] = doubt_list(doubts_of(story));
  return out.dump(1) + "\n";
}

std::string summary_text(const Story& story) {
  std::string out =
      fmt::format("{}, survey {} of {}\n\n", story.field.name, story.survey.id, story.survey.date);
  out += uniformity_text(story);
  const std::string hydraulics = hydraulics_text(story);
  if (!hydraulics.empty()) out += "\n" + hydraulics;
  out += "\n" + surface_text(story);
  const std::string condition = condition_text(story);
  if (!condition.empty()) out += "\n" + condition;
  out += "\n" + findings_text(story);
  if (story.visits.left_out > 0) {
    out += fmt::format("The {} least urgent places are not in the walk.\n", story.visits.left_out);
  }
  if (!story.crop_of_findings.empty()) {
    out += fmt::format("The crop in these findings is the layer {}.\n", story.crop_of_findings);
  }
  const std::vector<std::string> not_computed = not_computed_of(story);
  if (!not_computed.empty()) out += "\nNot computed\n";
  for (const std::string& line : not_computed) out += "  " + line + "\n";
  return out;
}

std::string doubts_json(const Doubts& doubts) {
  const Json out = {{"schema", "evendrip-check/1"},
                    {"run_would_refuse", has_problem(doubts)},
                    {"doubts", doubt_list(doubts)}};
  return out.dump(1) + "\n";
}

std::string doubts_text(const Doubts& doubts) {
  Doubts sorted = doubts;
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const Doubt& a, const Doubt& b) { return a.severity > b.severity; });
  std::string out;
  int counts[3] = {0, 0, 0};
  for (const Doubt& doubt : sorted) ++counts[static_cast<int>(doubt.severity)];
  for (const Doubt& doubt : summarised(sorted, most_of_a_kind)) {
    out += fmt::format("{}: {} [{}]\n", to_text(doubt.severity), to_text(doubt), doubt.code);
  }
  out += fmt::format("{} problems, {} doubts, {} notes: {}\n", counts[2], counts[1], counts[0],
                     counts[2] > 0 ? "a run would refuse" : "a run can start");
  return out;
}

}  // namespace evendrip
