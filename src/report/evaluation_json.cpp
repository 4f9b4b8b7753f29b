// SPDX-License-Identifier: Apache-2.0

#include <nlohmann/json.hpp>

#include "evaluation_parts.hpp"
#include "evendrip/report/summary.hpp"

#include "json_values.hpp"

namespace evendrip {
namespace {

using Json = nlohmann::ordered_json;

Json limits_json(const Limits& limits) {
  return {{"method", to_text(limits.method)},
          {"known", limits.known},
          {"approximation", limits.approximation},
          {"estimate", finite(limits.estimate)},
          {"lower", limits.known ? finite(limits.lower) : Json(nullptr)},
          {"upper", limits.known ? finite(limits.upper) : Json(nullptr)}};
}

Json measure_json(const MeasureLimits& measure) {
  Json out = {{"measure", to_text(measure.measure)},
              {"estimate", finite(measure.estimate)},
              {"two_part_estimate", finite(measure.two_part_estimate)},
              {"two_part", limits_json(measure.two_part)},
              {"beside", Json::array()}};
  for (const Limits& limits : measure.beside) out["beside"].push_back(limits_json(limits));
  return out;
}

Json level_json(const EvaluatedLevel& level) {
  const auto figure = [&](double value) { return level.told ? finite(value) : Json(nullptr); };
  Json out = {{"count", level.count},
              {"emitters_each", level.each},
              {"told", level.told},
              {"why_not", level.told ? Json(nullptr) : Json(level.why_not)},
              {"mean_lph", level.count > 0 ? finite(level.mean_lph) : Json(nullptr)},
              {"cv_frac", figure(level.cv)},
              {"low_quarter_frac", figure(level.low_quarter_frac)},
              {"low_quarter_corrected_frac", figure(level.corrected_low_quarter_frac)},
              {"low_quarter_floor_frac", figure(level.low_quarter_floor_frac)},
              {"low_quarter_ceiling_frac", figure(level.low_quarter_ceiling_frac)},
              {"low_quarter_two_part_frac", figure(level.two_part_low_quarter_frac)},
              {"field_emission_uniformity_frac", figure(level.low_quarter_frac)},
              {"absolute_emission_uniformity_frac", figure(level.absolute_emission_frac)},
              {"christiansen_frac", figure(level.christiansen_frac)},
              {"statistical_frac", figure(level.statistical_frac)},
              {"flow_variation_frac", figure(level.flow_variation_frac)},
              {"limits", Json::array()}};
  for (const MeasureLimits& measure : level.limits) out["limits"].push_back(measure_json(measure));
  return out;
}

Json share_json(const ShareLimits& limits) {
  return {{"lower_frac", finite(limits.lower)}, {"upper_frac", finite(limits.upper)}};
}

Json plugged_json(const std::optional<PluggedShare>& plugged) {
  if (!plugged) return nullptr;
  Json out = {{"plugged", plugged->plugged},
              {"emitters", plugged->emitters},
              {"share_frac", finite(plugged->share)},
              {"exact", share_json(plugged->exact)},
              {"allowing_for_laterals", share_json(plugged->clustered)},
              {"correlation_frac", finite(plugged->correlation)},
              {"correlation_assumed", plugged->correlation_assumed},
              {"effective_emitters", finite(plugged->effective_emitters)},
              {"chance_of_missing", Json::array()}};
  for (const MissedShare& missed : plugged->missed) {
    out["chance_of_missing"].push_back({{"share_frac", missed.share},
                                        {"independent_frac", finite(missed.independent)},
                                        {"clustered_frac", finite(missed.clustered)}});
  }
  return out;
}

Json fill_times_json(const std::optional<FillTimes>& times) {
  if (!times) return nullptr;
  return {{"emitters", times->emitters},
          {"mean_s", finite(times->mean_s)},
          {"cv_frac", finite(times->cv)},
          {"statistical_frac", finite(times->statistical_frac)},
          {"sixths_frac", times->sixths_known ? finite(times->sixths_frac) : Json(nullptr)}};
}

Json component_json(const VarianceComponent& component) {
  return {{"variance", finite(component.variance)},
          {"standard_error", finite(component.standard_error)},
          {"lower", finite(component.lower)},
          {"upper", finite(component.upper)}};
}

Json components_json(const VarianceComponents& c) {
  if (!c.computed) return {{"computed", false}, {"why_not", c.why_not}};
  return {{"computed", true},
          {"emitters", c.emitters},
          {"laterals", c.laterals},
          {"pits", c.pits},
          {"between_laterals", component_json(c.between_laterals)},
          {"between_pits", c.between_pits ? component_json(*c.between_pits) : Json(nullptr)},
          {"within", component_json(c.within)},
          {"lateral_share_frac", finite(c.lateral_share_frac)},
          {"lateral_share_lower_frac",
           c.lateral_share.known ? finite(c.lateral_share.lower) : Json(nullptr)},
          {"lateral_share_upper_frac",
           c.lateral_share.known ? finite(c.lateral_share.upper) : Json(nullptr)},
          {"remark", c.remark}};
}

Json trend_json(const Trend& trend) {
  if (!trend.computed) return {{"computed", false}, {"why_not", trend.why_not}};
  return {{"computed", true},
          {"slope", finite(trend.slope)},
          {"lower", finite(trend.lower)},
          {"upper", finite(trend.upper)},
          {"p_two_sided", finite(trend.p_two_sided)},
          {"standard_error", finite(trend.standard_error)},
          {"lateral_standard_error", finite(trend.lateral_standard_error)},
          {"p_value", finite(trend.p_value)}};
}

Json part_share_json(const PartShare& share) {
  return {{"frac", finite(share.frac)},
          {"lower_frac", share.known ? finite(share.lower) : Json(nullptr)},
          {"upper_frac", share.known ? finite(share.upper) : Json(nullptr)}};
}

Json shares_json(const PartShares& shares) {
  return {{"laterals", shares.laterals},
          {"why_not", shares.why_not},
          {"hydraulic", part_share_json(shares.hydraulic)},
          {"performance", part_share_json(shares.performance)},
          {"covariance", part_share_json(shares.covariance)}};
}

Json plain_division_json(const PlainDivision& d) {
  if (!d.computed) return {{"computed", false}, {"why_not", d.why_not}};
  return {{"computed", true},
          {"emitters", d.emitters},
          {"total", finite(d.total)},
          {"hydraulic", finite(d.hydraulic)},
          {"performance", finite(d.performance)},
          {"covariance", finite(d.covariance)},
          {"remainder", finite(d.remainder)},
          {"pressure_cv_frac", finite(d.pressure_cv)},
          {"performance_cv_frac", finite(d.performance_cv)},
          {"shares", shares_json(d.shares)}};
}

Json log_division_json(const LogDivision& d) {
  if (!d.computed) return {{"computed", false}, {"why_not", d.why_not}};
  return {{"computed", true},
          {"emitters", d.emitters},
          {"total", finite(d.total)},
          {"hydraulic", finite(d.hydraulic)},
          {"performance", finite(d.performance)},
          {"covariance", finite(d.covariance)},
          {"shares", shares_json(d.shares)}};
}

Json excess_json(const PerformanceExcess& e) {
  if (!e.computed) return {{"computed", false}, {"why_not", e.why_not}};
  return {{"computed", true},
          {"maker_cv_frac", finite(e.maker_cv)},
          {"measuring_cv_frac", finite(e.measuring_cv)},
          {"running_cv_frac", finite(e.running_cv)},
          {"all_cv_frac", finite(e.all_cv)},
          {"running_excess_cv_frac", finite(e.running_excess_cv)},
          {"running_excess_lower_cv_frac", finite(e.running_excess_lower_cv)},
          {"running_excess_upper_cv_frac", finite(e.running_excess_upper_cv)},
          {"all_excess_cv_frac", finite(e.all_excess_cv)},
          {"p_value", finite(e.p_value)},
          {"independent_p_value", finite(e.independent_p_value)},
          {"statement", e.statement}};
}

Json variation_json(const std::optional<Variation>& variation) {
  if (!variation) return nullptr;
  return {{"emitters", variation->emitters},
          {"without_pressure", variation->without_pressure},
          {"squares_of_cv", plain_division_json(variation->plain)},
          {"logarithms_of_running", log_division_json(variation->logarithms)},
          {"beyond_maker", excess_json(variation->excess)},
          {"discharge_components", components_json(variation->discharge)},
          {"log_performance_components", components_json(variation->log_performance)},
          {"trend_along_laterals", trend_json(variation->trend)}};
}

Json ratings_json(const std::vector<RatedFigure>& ratings) {
  Json out = Json::array();
  for (const RatedFigure& rated : ratings) {
    out.push_back({{"figure", rated.figure},
                   {"source", rated.rating.table_source},
                   {"class", rated.rating.rated ? Json(rated.rating.class_name) : Json(nullptr)},
                   {"not_excluded", rated.rating.not_excluded},
                   {"text", rated.rating.rated ? rated.rating.text : rated.rating.why_not},
                   {"gap", rated.rating.gap_text}});
  }
  return out;
}

Json judgement_json(const SampleJudgement& sample) {
  Json out = {{"half_width_frac", finite(sample.half_width_frac)},
              {"enough", sample.enough},
              {"text", sample.text},
              {"needed", nullptr}};
  if (!sample.plan.found) return out;
  out["needed"] = {{"laterals", sample.plan.laterals},
                   {"emitters_on_each", sample.plan.emitters_on_each},
                   {"emitters", sample.plan.emitters},
                   {"assured_half_width_frac", finite(sample.plan.assured_half_width_frac)}};
  return out;
}

Json factor_json(const DepthFactor& factor) {
  return {{"model", to_text(factor.model)},
          {"served_frac", finite(factor.served_frac)},
          {"possible", factor.possible},
          {"why_not", factor.why_not},
          {"factor", factor.possible ? finite(factor.factor) : Json(nullptr)},
          {"excess_frac", finite(factor.excess_frac)},
          {"deficit_frac", finite(factor.deficit_frac)},
          {"short_share_frac", finite(factor.short_share_frac)},
          {"gross_mm", finite(factor.gross_mm)},
          {"excess_mm", finite(factor.excess_mm)},
          {"excess_m3", finite(factor.excess_m3)},
          {"deficit_mm", finite(factor.deficit_mm)}};
}

Json schedule_json(const Schedule& schedule) {
  Json out = {{"rate_mm_h", finite(schedule.rate_mm_h)},
              {"set_depth_mm", finite(schedule.set_depth_mm)},
              {"pulse_time_s", finite(schedule.pulse_time_s)},
              {"pulse_depth_mm", finite(schedule.pulse_depth_mm)},
              {"daily_depth_mm", finite(schedule.daily_depth_mm)},
              {"sets_in_season", finite(schedule.sets_in_season)},
              {"days_in_season", finite(schedule.days_in_season)},
              {"applied_over_need_frac", finite(schedule.applied_over_need)},
              {"serving", Json::array()},
              {"not_computed", schedule.not_computed}};
  for (const ServingSet& set : schedule.serving) {
    out["serving"].push_back({{"model", to_text(set.model)},
                              {"served_frac", finite(set.served_frac)},
                              {"possible", set.possible},
                              {"set_time_s", finite(set.set_time_s)},
                              {"season_depth_mm", finite(set.season_depth_mm)},
                              {"change_mm", finite(set.change_mm)}});
  }
  return out;
}

Json applied_json(const std::optional<AppliedDepth>& applied) {
  if (!applied) return nullptr;
  return {{"applied_mm", finite(applied->applied_mm)},
          {"factor", finite(applied->factor)},
          {"short_share_frac", finite(applied->short_share_frac)},
          {"deficit_frac", finite(applied->deficit_frac)},
          {"excess_frac", finite(applied->excess_frac)}};
}

Json depth_json(const EvaluatedPart& part) {
  const DepthResult& depth = part.depth;
  Json out = {{"of", part.depth_of},
              {"computed", depth.computed},
              {"why_not", depth.why_not},
              {"remark", depth.remark}};
  if (!depth.computed) return out;
  out["applied"] = applied_json(part.applied);
  out["schedule"] = schedule_json(part.schedule);
  for (const DepthFactor& factor : depth.uncorrected) {
    out["mean_meets_need"].push_back(factor_json(factor));
  }
  for (const DepthFactor& factor : depth.factors) out["factors"].push_back(factor_json(factor));
  for (const SortedDischarge& step : depth.sorted) {
    out["sorted"].push_back({{"share_from_frac", step.share_from_frac},
                             {"share_to_frac", step.share_to_frac},
                             {"discharge_lph", step.discharge_lph}});
  }
  return out;
}

Json part_json(const EvaluatedPart& part) {
  return {{"name", part.name},
          {"area_ha", finite(part.area_ha)},
          {"laterals", part.laterals},
          {"pits", part.pits},
          {"damaged", part.damaged},
          {"not_found", part.not_found},
          {"measuring_cv_frac", part.measuring_cv > 0 ? finite(part.measuring_cv) : Json(nullptr)},
          {"rest_on_model", part.rest_on_model},
          {"emitters", level_json(part.emitters)},
          {"plants", part.plants ? level_json(*part.plants) : Json(nullptr)},
          {"plugged", plugged_json(part.plugged)},
          {"fill_times", fill_times_json(part.fill_times)},
          {"variation", variation_json(part.variation)},
          {"ratings", ratings_json(part.ratings)},
          {"sample",
           {{"low_quarter", judgement_json(part.low_quarter_sample)},
            {"mean", judgement_json(part.mean_sample)}}},
          {"depth", depth_json(part)},
          {"statements", part.statements},
          {"details", part.details}};
}

Json coverage_json() {
  Json out = Json::array();
  for (const LimitMethod method :
       {LimitMethod::two_part, LimitMethod::studentised, LimitMethod::percentile, LimitMethod::bca,
        LimitMethod::noncentral_t, LimitMethod::lateral_means}) {
    const auto simulated = simulated_coverage(method);
    if (!simulated) continue;
    out.push_back({{"method", to_text(method)},
                   {"least_frac", simulated->least_frac},
                   {"most_frac", simulated->most_frac},
                   {"least_lower_frac", simulated->least_lower_frac},
                   {"zones", simulated->zones}});
  }
  return out;
}

Json ids_json(const std::vector<std::string>& ids) {
  return ids.empty() ? Json(nullptr) : Json(ids);
}

/// What restricts nothing is null.
Json selection_json(const Evaluation& evaluation) {
  const auto& selection = evaluation.options.selection;
  if (!selection) return nullptr;
  std::vector<std::string> zones, laterals;
  for (const int z : selection->zones) {
    zones.push_back(evaluation.field.zones[static_cast<std::size_t>(z)].id);
  }
  for (const int l : selection->laterals) {
    laterals.push_back(evaluation.field.laterals[static_cast<std::size_t>(l)].id);
  }
  const auto& stations = selection->stations;
  return {{"text", selection->text},
          {"zones", ids_json(zones)},
          {"laterals", ids_json(laterals)},
          {"from_m", stations ? finite(stations->from_m) : Json(nullptr)},
          {"to_m", stations ? finite(stations->to_m) : Json(nullptr)}};
}

Json division_coverage_json() {
  Json out = Json::array();
  for (const DivisionCoverage& coverage : simulated_division_coverage()) {
    out.push_back({{"limits_of", coverage.limits_of},
                   {"least_frac", coverage.least_frac},
                   {"most_frac", coverage.most_frac},
                   {"worst", coverage.worst},
                   {"zones", coverage.zones}});
  }
  return out;
}

}  // namespace

std::string evaluation_json(const Evaluation& evaluation) {
  const EvaluationOptions& options = evaluation.options;
  Json out = {{"schema", "evendrip-evaluation/1"},
              {"version", evaluation.version},
              {"libraries", evaluation.libraries},
              {"field", evaluation.field.name},
              {"survey", {{"id", evaluation.survey.id}, {"date", evaluation.survey.date}}},
              {"inputs", Json::array()}};
  for (const InputFile& input : evaluation.field.inputs) {
    out["inputs"].push_back({{"file", input.as_written}, {"sha256", input.sha256}});
  }
  out["method"] = evaluation.expectation.method_text();
  out["options"] = {{"confidence_frac", options.confidence},
                    {"draws", options.draws},
                    {"seed", options.seed},
                    {"quarter_rule", to_text(options.rule)},
                    {"half_width_frac", options.half_width_frac},
                    {"mean_half_width_frac", options.mean_half_width_frac},
                    {"selection", selection_json(evaluation)}};
  out["simulated_coverage"] = coverage_json();
  out["simulated_coverage_of_division"] = division_coverage_json();
  out["whole"] = part_json(evaluation.whole);
  out["selection"] = evaluation.selection ? part_json(*evaluation.selection) : Json(nullptr);
  out["zones"] = Json::array();
  for (const EvaluatedPart& zone : evaluation.zones) out["zones"].push_back(part_json(zone));
  out["not_computed"] = evaluation.not_computed;
  out["conclusions"] = conclusions_of(evaluation);
  out["cautions"] = evaluation_cautions();
  out["doubts"] = Json::parse(doubts_json(evaluation.doubts))["doubts"];
  return out.dump(1) + "\n";
}

}  // namespace evendrip
