// SPDX-License-Identifier: Apache-2.0
#include "surface_summary.hpp"

#include "json_values.hpp"

#include <cmath>

#include <fmt/format.h>

namespace evendrip {
namespace {

using Json = nlohmann::ordered_json;

const std::string& zone_id(const Story& story, int zone) {
  return story.field.zones[static_cast<std::size_t>(zone)].id;
}

const std::string& emitter_name(const Story& story, int sample) {
  const std::size_t emitter = story.surface.samples().emitters[static_cast<std::size_t>(sample)];
  return story.survey.emitters[emitter].name;
}

const char* left_out_word(LeaveOut left_out) {
  return left_out == LeaveOut::emitter ? "emitter" : "lateral";
}

Json candidates_json(const ModelChoice& choice) {
  Json list = Json::array();
  for (const CandidateScore& score : choice.table)
    list.push_back({{"name", score.name},
                    {"trend_terms", score.trend_terms},
                    {"covariance_parameters", score.covariance_parameters},
                    {"log_likelihood", finite(score.log_likelihood)},
                    {"rmse_lateral_left_out", finite(score.by_lateral.rmse)},
                    {"score", finite(score.penalised)},
                    {"chosen", score.chosen},
                    {"doubt", score.doubt}});
  return list;
}

Json fit_json(const SurfaceFit& fit) {
  Json out = {{"log_likelihood", finite(fit.log_likelihood)},
              {"observations", fit.observations},
              {"converged", fit.converged}};
  out["trend"] = Json::array();
  for (std::size_t i = 0; i < fit.coefficients.size(); ++i)
    out["trend"].push_back({{"term", fit.model.trend[i].name},
                            {"coefficient", finite(fit.coefficients[i])},
                            {"standard_error", finite(fit.coefficient_errors[i])}});
  out["parameters"] = Json::array();
  for (const ParameterEstimate& p : fit.parameters) {
    Json one = {{"name", p.name},
                {"value", finite(p.value)},
                {"standard_error_of_log", finite(p.log_error)}};
    if (p.has_limits) one["limits_95"] = {finite(p.lower), finite(p.upper)};
    out["parameters"].push_back(std::move(one));
  }
  return out;
}

Json comparison_json(const Story& story) {
  Json list = Json::array();
  for (const EstimatorScore& score : story.surface.comparison())
    list.push_back({{"estimator", score.name},
                    {"left_out", left_out_word(score.left_out)},
                    {"compared", score.compared},
                    {"mean_error", finite(score.mean_error)},
                    {"rmse", finite(score.rmse)},
                    {"coverage_90", finite(score.coverage_90)},
                    {"ranked_probability_score", finite(score.mean_score)},
                    {"doubt", score.doubt}});
  return list;
}

Json wild_json(const Story& story) {
  Json list = Json::array();
  for (const WildSample& wild : story.surface.wild())
    list.push_back({{"emitter", emitter_name(story, wild.sample)},
                    {"relative", finite(wild.value)},
                    {"by_the_others", finite(wild.predicted)},
                    {"robust_standard_errors_off", finite(wild.score)},
                    {"weight", finite(wild.weight)}});
  return list;
}

Json areas_json(const Story& story) {
  Json list = Json::array();
  for (const AreaBelow& area : story.areas)
    list.push_back({{"zone", area.zone < 0 ? Json(nullptr) : Json(zone_id(story, area.zone))},
                    {"relative_discharge_below", area.threshold},
                    {"area_ha", area.area_ha},
                    {"below_ha", finite(area.mean_ha)},
                    {"limits_90_ha", {finite(area.lower_ha), finite(area.upper_ha)}}});
  return list;
}

std::string candidates_text(const ModelChoice& choice) {
  std::string out = fmt::format(
      "Candidate models, by how they predict laterals left out (lower is better)\n"
      "  {:<44}{:>8}{:>16}{:>8}{:>12}\n",
      "model", "numbers", "log likelihood", "RMSE", "score");
  for (const CandidateScore& score : choice.table) {
    if (!score.doubt.empty()) {
      out += fmt::format("  {:<44}  {}\n", score.name, score.doubt);
      continue;
    }
    out += fmt::format("  {:<44}{:>8}{:>16.2f}{:>8.3f}{:>12.3f}{}\n", score.name,
                       score.trend_terms + score.covariance_parameters, score.log_likelihood,
                       score.by_lateral.rmse, score.penalised, score.chosen ? "  chosen" : "");
  }
  return out;
}

std::string share(double frac) {
  return std::isfinite(frac) ? fmt::format("{:.0f} %", 100 * frac) : "-";
}

std::string number(double value) {
  return std::isfinite(value) ? fmt::format("{:.4f}", value) : "-";
}

/// One line for each estimator: both ways of leaving out side by side.
std::string comparison_text(const std::vector<EstimatorScore>& scores) {
  if (scores.empty()) return "";
  std::string out = fmt::format(
      "Estimators compared on emitters that were left out (score: mean ranked probability score; "
      "inside: share in the 90 % limits)\n"
      "  {:<40}{:>27}{:>30}\n  {:<40}{:>9}{:>9}{:>9}{:>12}{:>9}{:>9}\n",
      "", "emitter left out", "whole lateral left out", "estimator", "RMSE", "score", "inside",
      "RMSE", "score", "inside");
  const std::size_t half = scores.size() / 2;
  for (std::size_t i = 0; i < half; ++i) {
    const EstimatorScore& one = scores[i];
    const EstimatorScore& whole = scores[half + i];
    out += fmt::format("  {:<40}{:>9}{:>9}{:>9}{:>12}{:>9}{:>9}\n", one.name, number(one.rmse),
                       number(one.mean_score), share(one.coverage_90), number(whole.rmse),
                       number(whole.mean_score), share(whole.coverage_90));
  }
  return out;
}

std::string areas_text(const Story& story) {
  if (story.areas.empty()) return "";
  const UnitSystem units = story.field.report_units;
  const auto area = [units](double ha) {
    return format_quantity(ha, Dimension::area, units, 3, EndZeros::kept);
  };
  std::string out = "Ground where relative discharge is below a threshold (90 % limits)\n";
  for (const AreaBelow& below : story.areas)
    out += fmt::format("  {:<10}below {:.2f}: {} ({} to {}) of {}\n",
                       below.zone < 0 ? "field" : zone_id(story, below.zone), below.threshold,
                       area(below.mean_ha), area(below.lower_ha), area(below.upper_ha),
                       area(below.area_ha));
  return out;
}

std::string wild_text(const Story& story) {
  if (story.surface.wild().empty()) return "";
  constexpr std::size_t most = 8;
  std::string out = "Emitters unlike all others, which weigh less in the surface\n";
  const auto& wild = story.surface.wild();
  for (std::size_t i = 0; i < std::min(most, wild.size()); ++i)
    out += fmt::format("  {:<10}{:.2f}, where the others say {:.2f}\n",
                       emitter_name(story, wild[i].sample), wild[i].value, wild[i].predicted);
  if (wild.size() > most) out += fmt::format("  and {} more\n", wild.size() - most);
  return out;
}

}  // namespace

Json surface_json(const Story& story) {
  Json out = {{"method", story.surface.method_text()}};
  const Grid& grid = story.surface.grid();
  out["grid"] = {{"columns", grid.columns}, {"rows", grid.rows}, {"cell_m", grid.cell_m}};
  for (const ZoneSurface& zone : story.surface.zones()) {
    out["zones"].push_back({{"zone", zone_id(story, zone.zone)},
                            {"samples", zone.samples},
                            {"relative_to", to_text(zone.reference)},
                            {"why", zone.why}});
  }
  const auto& choice = story.surface.choice();
  out["candidates"] = choice ? candidates_json(*choice) : Json::array();
  out["fit"] = choice ? fit_json(choice->fit) : Json(nullptr);
  out["comparison"] = comparison_json(story);
  out["unlike_all_others"] = wild_json(story);
  out["areas_below"] = areas_json(story);
  return out;
}

std::string surface_text(const Story& story) {
  std::string out = story.surface.method_text() + "\n";
  for (const ZoneSurface& zone : story.surface.zones())
    out += fmt::format("  {}: {}; relative to {}\n", zone_id(story, zone.zone), zone.why,
                       to_text(zone.reference));
  if (story.surface.choice()) out += "\n" + candidates_text(*story.surface.choice());
  for (const std::string& paragraph :
       {comparison_text(story.surface.comparison()), areas_text(story), wild_text(story)})
    if (!paragraph.empty()) out += "\n" + paragraph;
  return out;
}

}  // namespace evendrip
