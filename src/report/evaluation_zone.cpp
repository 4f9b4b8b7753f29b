// SPDX-License-Identifier: Apache-2.0
// One zone, or what is selected of it: figures, limits, division, judgement, costs.
#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "evendrip/uniformity/survey_plan.hpp"

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

std::size_t index(int i) {
  return static_cast<std::size_t>(i);
}

void append(std::vector<std::string>& all, const std::vector<std::string>& more) {
  for (const std::string& text : more) {
    if (!text.empty() && std::find(all.begin(), all.end(), text) == all.end()) all.push_back(text);
  }
}

std::vector<std::string> texts_of(const Doubts& doubts) {
  std::vector<std::string> texts;
  for (const Doubt& doubt : doubts) texts.push_back(doubt.text);
  return texts;
}

/// Emitters of each lateral of the field, as far as it is selected and in the zone (-1: in any).
std::vector<int> emitters_of_laterals(const Scope& scope, int zone) {
  const Field& field = scope.evaluation.field;
  std::vector<int> counts;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    const bool inside = zone < 0 || lateral.zone == zone;
    const double share = inside ? selected_share(field, scope.selection, static_cast<int>(i)) : 0;
    counts.push_back(share > 0 ? std::max(1, static_cast<int>(share * lateral.emitters)) : 0);
  }
  return counts;
}

LimitOptions limit_options(const EvaluationOptions& options, int zone, const DugFrom& from) {
  LimitOptions of_zone;
  of_zone.confidence = options.confidence;
  of_zone.draws = options.draws;
  // A stream for each zone, so that the draws of zones are independent of each other.
  of_zone.seed = options.seed + 1'000'003 * static_cast<std::uint64_t>(zone + 1);
  of_zone.rule = options.rule;
  of_zone.plugging.zone = from;
  return of_zone;
}

PlanOptions plan_options(const Scope& scope, const EvaluatedPart& part, double half_width) {
  const DugFrom from = dug_from(scope, part.zone);
  PlanOptions plan;
  plan.half_width_frac = half_width;
  plan.confidence = scope.evaluation.options.confidence;
  plan.laterals = from.laterals;
  plan.emitters_on_a_lateral = from.emitters_on_a_lateral;
  return plan;
}

SampleJudgement judged(const Scope& scope, const EvaluatedPart& part, PlannedMeasure measure,
                       double half_width) {
  const MeasureLimits* limits = part.emitters.limits_of(limits_measure(measure));
  return judged_by_limits(part.sample, limits == nullptr ? Limits{} : limits->two_part, measure,
                          plan_options(scope, part, half_width));
}

/// Fewest and most emitters dug on a lateral.
std::pair<int, int> dug_on_laterals(const EmitterSample& sample) {
  std::map<int, int> dug;
  for (const SampledEmitter& emitter : sample.emitters) {
    if (emitter.lateral >= 0) ++dug[emitter.lateral];
  }
  if (dug.empty()) return {0, 0};
  const auto [few, many] = std::minmax_element(
      dug.begin(), dug.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  return {few->second, many->second};
}

/// Laterals that were dug far more than others do not count for more. Counts that differ less than
/// twofold are left alone: weights would widen the limits more than they mend (common practice, no
/// source).
bool dug_unequally(const EmitterSample& sample) {
  const auto [few, many] = dug_on_laterals(sample);
  return few > 0 && many >= 2 * few && many > 2;
}

EmitterSample sample_by_design(const Scope& scope, int zone) {
  EmitterSample sample = sample_of(scope.survey, zone);
  // Counts on a part of the laterals' length are chance more than design.
  const Selection& selection = scope.selection;
  if (!selection.laterals.empty() || selection.stations) return sample;
  if (!dug_unequally(sample)) return sample;
  return weighed_by_lateral(std::move(sample), emitters_of_laterals(scope, zone));
}

bool weights_differ(const EmitterSample& sample) {
  return std::any_of(sample.emitters.begin(), sample.emitters.end(), [&](const auto& emitter) {
    return emitter.weight != sample.emitters.front().weight;
  });
}

/// What weights change: the limits have the weighed figures.
void weigh_figures(EvaluatedLevel& level, const UniformityLimits& limits) {
  const auto weighed = [&](Measure measure) { return limits.of(measure).estimate; };
  level.corrected_low_quarter_frac += weighed(Measure::low_quarter) - level.low_quarter_frac;
  level.corrected_low_quarter_frac = std::clamp(level.corrected_low_quarter_frac, 0.0, 1.0);
  level.mean_lph = weighed(Measure::mean);
  level.cv = weighed(Measure::cv);
  level.low_quarter_frac = weighed(Measure::low_quarter);
  level.christiansen_frac = weighed(Measure::christiansen);
  level.statistical_frac = weighed(Measure::statistical);
  level.two_part_low_quarter_frac = limits.of(Measure::low_quarter).two_part_estimate;
}

void tell_weights(EvaluatedPart& part) {
  if (!weights_differ(part.sample)) return;
  const auto [few, many] = dug_on_laterals(part.sample);
  append(
      part.statements,
      {fmt::format("{} to {} emitters were dug on a lateral: each counts for the emitters of its "
                   "lateral over those dug there; absolute emission uniformity, flow variation "
                   "and other rules of the quarter take all alike",
                   few, many)});
}

/// All zones that the laterals dug on lie in share one exponent and one maker's CV.
std::optional<VariationOptions> variation_options(const Field& field, const EvaluatedPart& part,
                                                  double confidence) {
  std::optional<VariationOptions> options;
  for (const SampledEmitter& emitter : part.sample.emitters) {
    if (emitter.zone < 0) return std::nullopt;
    const EmitterSpec& spec = field.zones[index(emitter.zone)].emitter;
    VariationOptions here;
    here.exponent = spec.exponent;
    if (spec.manufacturing_cv > 0) here.maker_cv = spec.manufacturing_cv;
    here.measuring_cv = part.measuring_cv;
    here.confidence = confidence;
    if (options && (options->exponent != here.exponent || options->maker_cv != here.maker_cv)) {
      return std::nullopt;
    }
    options = here;
  }
  return options;
}

/// Depths are of what plants get, where that is told.
void tell_depths(const DepthOptions& options, const EmitterSample& plants, EvaluatedPart& part) {
  const bool of_plants = part.plants && part.plants->told;
  part.depth_of = of_plants ? "plants" : "emitters";
  const EmitterSample& sample = of_plants ? plants : part.sample;
  std::vector<double> weights;
  if (weights_differ(sample)) {
    for (const SampledEmitter& emitter : sample.emitters) weights.push_back(emitter.weight);
  }
  part.depth = depth_result(discharges_of(sample), weights, options);
}

/// Figures and limits of a sample, whatever it is of.
UniformityLimits measure_sample(EvaluatedPart& part, const EvaluationOptions& options,
                                const DugFrom& from) {
  count_places(part);
  part.emitters = level_figures(part.sample, 1, options.rule);
  const LimitOptions of_limits = limit_options(options, part.zone, from);
  UniformityLimits limits = confidence_limits(part.sample, of_limits);
  part.rest_on_model = limits.rest_on_model;
  if (part.emitters.told) part.emitters.limits = limits.measures;
  if (part.emitters.told && weights_differ(part.sample)) weigh_figures(part.emitters, limits);
  if (!part.sample.emitters.empty()) part.plugged = limits.plugged;
  part.ratings = ratings_of(part.emitters);
  return limits;
}

/// The limits of the plants where they are told.
UniformityLimits measure_plants(const Agronomy& agronomy, const EvaluationOptions& options,
                                const EmitterSample& plants, int laterals, EvaluatedPart& part) {
  if (agronomy.emitters_per_root_zone < 2) return {};
  part.plants = level_figures(plants, agronomy.emitters_per_root_zone, options.rule);
  if (plants.emitters.empty()) {
    part.plants->why_not = fmt::format("no {} neighbouring emitters were dug side by side",
                                       agronomy.emitters_per_root_zone);
  }
  if (!part.plants->told) return {};
  UniformityLimits limits =
      confidence_limits(plants, limit_options(options, part.zone, {laterals, 0}));
  if (weights_differ(plants)) weigh_figures(*part.plants, limits);
  part.plants->limits = limits.measures;
  return limits;
}

EmitterSample plants_of(const Agronomy& agronomy, const EmitterSample& sample) {
  const int each = agronomy.emitters_per_root_zone;
  return each < 2 ? EmitterSample{} : plant_level(sample, each);
}

/// Clogging and wear first; the rest stands in the table too.
void tell_variation(EvaluatedPart& part) {
  if (!part.variation) return;
  const std::string& excess = part.variation->excess.statement;
  for (const std::string& text : part.variation->statements) {
    const bool of_excess = !excess.empty() && text.find(excess) != std::string::npos;
    append(of_excess ? part.statements : part.details, {text});
  }
}

/// What bears on every figure comes first.
void put_first(std::vector<std::string>& statements) {
  const auto says = [](const char* words) {
    return [words](const std::string& text) { return text.find(words) != std::string::npos; };
  };
  const auto rest =
      std::stable_partition(statements.begin(), statements.end(), says("Uniformity is not told"));
  std::stable_partition(rest, statements.end(), says("rest on the model"));
}

}  // namespace

DugFrom dug_from(const Scope& scope, int zone) {
  DugFrom from;
  int emitters = 0;
  for (const int count : emitters_of_laterals(scope, zone)) {
    if (count == 0) continue;
    ++from.laterals;
    emitters += count;
  }
  if (from.laterals > 0) from.emitters_on_a_lateral = emitters / from.laterals;
  return from;
}

void count_places(EvaluatedPart& part) {
  std::set<std::pair<int, int>> laterals;
  std::set<std::pair<int, int>> pits;
  for (const SampledEmitter& emitter : part.sample.emitters) {
    if (emitter.lateral >= 0) laterals.emplace(emitter.zone, emitter.lateral);
    if (emitter.pit >= 0) pits.emplace(emitter.lateral, emitter.pit);
  }
  part.laterals = static_cast<int>(laterals.size());
  part.pits = static_cast<int>(pits.size());
  part.damaged = part.sample.damaged;
  part.not_found = part.sample.not_found;
  part.measuring_cv = part.sample.measuring_cv;
}

void judge_sample(const Scope& scope, EvaluatedPart& part) {
  const EvaluationOptions& options = scope.evaluation.options;
  part.low_quarter_sample =
      judged(scope, part, PlannedMeasure::low_quarter_uniformity, options.half_width_frac);
  part.mean_sample = judged(scope, part, PlannedMeasure::mean, options.mean_half_width_frac);
}

DepthOptions depth_options(const Irrigation& irrigation, double area_ha) {
  DepthOptions depth;
  depth.season_need_mm = irrigation.season_net_need_mm;
  if (depth.season_need_mm && !(*depth.season_need_mm > 0)) depth.season_need_mm.reset();
  if (area_ha > 0) depth.area_ha = area_ha;
  return depth;
}

void divide(const Scope& scope, EvaluatedPart& part) {
  const auto options =
      variation_options(scope.evaluation.field, part, scope.evaluation.options.confidence);
  if (!options) return;
  const auto emitters =
      varied_emitters(scope.evaluation.field, scope.survey, scope.judged, part.zone);
  if (emitters.empty()) return;
  part.variation = divided_variation(emitters, *options);
}

PartWithLimits zone_part(const Scope& scope, int zone) {
  const Field& field = scope.evaluation.field;
  PartWithLimits made;
  EvaluatedPart& part = made.part;
  part.name = field.zones[index(zone)].id;
  part.zone = zone;
  part.area_ha = selected_area_ha(field, scope.selection, zone);
  part.sample = sample_by_design(scope, zone);
  const DugFrom from = dug_from(scope, zone);
  made.limits = measure_sample(part, scope.evaluation.options, from);
  made.plants = plants_of(scope.evaluation.watering.agronomy, part.sample);
  made.plant_limits = measure_plants(scope.evaluation.watering.agronomy, scope.evaluation.options,
                                     made.plants, from.laterals, part);
  part.fill_times = fill_times_of(scope.survey, zone);
  divide(scope, part);
  judge_sample(scope, part);
  const Irrigation& irrigation = scope.evaluation.watering.irrigation;
  tell_depths(depth_options(irrigation, part.area_ha), made.plants, part);
  part.applied = applied_depth(part.depth, irrigation);
  part.schedule = watering_schedule(scope.evaluation, part.depth, zone);
  tell_variation(part);
  tell_weights(part);
  append(part.statements, data_statements(scope, part));
  append(part.statements, texts_of(made.limits.statements));
  if (part.depth.computed) append(part.statements, {part.depth.remark});
  put_first(part.statements);
  return made;
}

}  // namespace evendrip
