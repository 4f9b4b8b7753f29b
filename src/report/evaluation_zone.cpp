// SPDX-License-Identifier: Apache-2.0
// One zone, or what is selected of it: figures, limits, division, judgement, costs.
#include <algorithm>
#include <set>
#include <utility>

#include <fmt/format.h>

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

LimitOptions limit_options(const EvaluationOptions& options, int zone) {
  LimitOptions of_zone;
  of_zone.confidence = options.confidence;
  of_zone.draws = options.draws;
  // A stream for each zone, so that the draws of zones are independent of each other.
  of_zone.seed = options.seed + 1'000'003 * static_cast<std::uint64_t>(zone + 1);
  of_zone.rule = options.rule;
  return of_zone;
}

/// Those whose lateral is told; the others belong to no group.
std::vector<GroupedValue> grouped(const EmitterSample& sample) {
  std::vector<GroupedValue> values;
  for (const SampledEmitter& emitter : sample.emitters) {
    if (emitter.lateral < 0) continue;
    values.push_back({emitter.discharge_lph, emitter.lateral, emitter.pit, 0});
  }
  return values;
}

/// Laterals of the part and emitters on an average one of them.
PlanOptions plan_options(const Scope& scope, const EvaluatedPart& part, double half_width) {
  const Field& field = scope.evaluation.field;
  PlanOptions plan;
  plan.half_width_frac = half_width;
  plan.confidence = scope.evaluation.options.confidence;
  double emitters = 0;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if (part.zone >= 0 && lateral.zone != part.zone) continue;
    const double share = selected_share(field, scope.selection, static_cast<int>(i));
    if (!(share > 0)) continue;
    ++plan.laterals;
    emitters += share * lateral.emitters;
  }
  if (plan.laterals > 0) plan.emitters_on_a_lateral = static_cast<int>(emitters) / plan.laterals;
  return plan;
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
  part.depth = depth_result(discharges_of(of_plants ? plants : part.sample), {}, options);
}

/// Figures and limits of a sample, whatever it is of.
UniformityLimits measure_sample(EvaluatedPart& part, const EvaluationOptions& options) {
  count_places(part);
  part.emitters = level_figures(part.sample, 1, options.rule);
  const LimitOptions of_limits = limit_options(options, part.zone);
  UniformityLimits limits = confidence_limits(part.sample, of_limits);
  part.rest_on_model = limits.rest_on_model;
  if (part.emitters.told) part.emitters.limits = limits.measures;
  if (!part.sample.emitters.empty()) {
    PluggingOptions plugging;
    plugging.confidence = options.confidence;
    part.plugged = measure_plugging(part.sample, plugging);
  }
  part.ratings = ratings_of(part.emitters);
  return limits;
}

/// The limits of the plants where they are told.
UniformityLimits measure_plants(const Agronomy& agronomy, const EvaluationOptions& options,
                                const EmitterSample& plants, EvaluatedPart& part) {
  if (agronomy.emitters_per_root_zone < 2) return {};
  part.plants = level_figures(plants, agronomy.emitters_per_root_zone, options.rule);
  if (plants.emitters.empty()) {
    part.plants->why_not = fmt::format("no {} neighbouring emitters were dug side by side",
                                       agronomy.emitters_per_root_zone);
  }
  if (!part.plants->told) return {};
  UniformityLimits limits = confidence_limits(plants, limit_options(options, part.zone));
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
  const std::vector<GroupedValue> values = grouped(part.sample);
  part.low_quarter_sample = judged_sample(values, PlannedMeasure::low_quarter_uniformity,
                                          plan_options(scope, part, options.half_width_frac));
  part.mean_sample = judged_sample(values, PlannedMeasure::mean,
                                   plan_options(scope, part, options.mean_half_width_frac));
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
  part.sample = sample_of(scope.survey, zone);
  made.limits = measure_sample(part, scope.evaluation.options);
  made.plants = plants_of(scope.evaluation.watering.agronomy, part.sample);
  made.plant_limits = measure_plants(scope.evaluation.watering.agronomy, scope.evaluation.options,
                                     made.plants, part);
  part.fill_times = fill_times_of(scope.survey, zone);
  divide(scope, part);
  judge_sample(scope, part);
  const Irrigation& irrigation = scope.evaluation.watering.irrigation;
  tell_depths(depth_options(irrigation, part.area_ha), made.plants, part);
  part.applied = applied_depth(part.depth, irrigation);
  part.schedule = watering_schedule(scope.evaluation, part.depth, zone);
  tell_variation(part);
  append(part.statements, data_statements(scope, part));
  append(part.statements, texts_of(made.limits.statements));
  if (part.depth.computed) append(part.statements, {part.depth.remark});
  put_first(part.statements);
  return made;
}

}  // namespace evendrip
