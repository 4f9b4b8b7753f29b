// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/evaluation.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

void append(Doubts& all, const Doubts& more) {
  all.insert(all.end(), more.begin(), more.end());
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

std::size_t index(int i) {
  return static_cast<std::size_t>(i);
}

/// A part with the limits that its emitters gave, which the field's limits are joined from.
struct PartWithLimits {
  EvaluatedPart part;
  UniformityLimits limits;
  EmitterSample plants;
  UniformityLimits plant_limits;
};

LimitOptions limit_options(const EvaluationOptions& options, int zone) {
  LimitOptions of_zone;
  of_zone.confidence = options.confidence;
  of_zone.draws = options.draws;
  // A stream for each zone, so that the draws of zones are independent of each other.
  of_zone.seed = options.seed + 1'000'003 * static_cast<std::uint64_t>(zone + 1);
  of_zone.rule = options.rule;
  return of_zone;
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

/// Those whose lateral is told; the others belong to no group.
std::vector<GroupedValue> grouped(const EmitterSample& sample) {
  std::vector<GroupedValue> values;
  for (const SampledEmitter& emitter : sample.emitters) {
    if (emitter.lateral < 0) continue;
    values.push_back({emitter.discharge_lph, emitter.lateral, emitter.pit, 0});
  }
  return values;
}

/// Laterals of the zones in the part and emitters on an average one of them.
PlanOptions plan_options(const Field& field, const EvaluatedPart& part, double half_width,
                         double confidence) {
  PlanOptions plan;
  plan.half_width_frac = half_width;
  plan.confidence = confidence;
  int emitters = 0;
  for (const Lateral& lateral : field.laterals) {
    if (part.zone >= 0 && lateral.zone != part.zone) continue;
    ++plan.laterals;
    emitters += lateral.emitters;
  }
  if (plan.laterals > 0) plan.emitters_on_a_lateral = emitters / plan.laterals;
  return plan;
}

void judge_sample(const Field& field, const EvaluationOptions& options, EvaluatedPart& part) {
  const std::vector<GroupedValue> values = grouped(part.sample);
  part.low_quarter_sample =
      judged_sample(values, PlannedMeasure::low_quarter_uniformity,
                    plan_options(field, part, options.half_width_frac, options.confidence));
  part.mean_sample =
      judged_sample(values, PlannedMeasure::mean,
                    plan_options(field, part, options.mean_half_width_frac, options.confidence));
}

DepthOptions depth_options(const Irrigation& irrigation, double area_ha) {
  DepthOptions depth;
  depth.season_need_mm = irrigation.season_net_need_mm;
  if (depth.season_need_mm && !(*depth.season_need_mm > 0)) depth.season_need_mm.reset();
  if (area_ha > 0) depth.area_ha = area_ha;
  return depth;
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

void divide(const Evaluation& evaluation, EvaluatedPart& part) {
  const auto options = variation_options(evaluation.field, part, evaluation.options.confidence);
  if (!options) return;
  const auto emitters = varied_emitters(evaluation.field, evaluation.survey,
                                        evaluation.expectation.emitters, part.zone);
  if (emitters.empty()) return;
  part.variation = divided_variation(emitters, *options);
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
    part.plugged = measure_plugging(part.sample, {.confidence = options.confidence});
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

PartWithLimits zone_part(const Evaluation& evaluation, int zone) {
  const Field& field = evaluation.field;
  PartWithLimits made;
  EvaluatedPart& part = made.part;
  part.name = field.zones[index(zone)].id;
  part.zone = zone;
  part.area_ha = field.zone_area_ha(zone);
  part.sample = sample_of(evaluation.survey, zone);
  made.limits = measure_sample(part, evaluation.options);
  made.plants = plants_of(evaluation.watering.agronomy, part.sample);
  made.plant_limits =
      measure_plants(evaluation.watering.agronomy, evaluation.options, made.plants, part);
  part.fill_times = fill_times_of(evaluation.survey, zone);
  divide(evaluation, part);
  judge_sample(field, evaluation.options, part);
  tell_depths(depth_options(evaluation.watering.irrigation, part.area_ha), made.plants, part);
  tell_variation(part);
  append(part.statements, data_statements(evaluation, part));
  append(part.statements, texts_of(made.limits.statements));
  if (part.depth.computed) append(part.statements, {part.depth.remark});
  put_first(part.statements);
  return made;
}

/// One level of a zone with its limits and the zone's area.
struct LevelOfZone {
  const EvaluatedLevel* level;
  const UniformityLimits* limits;
  double area_ha;
};

double weighted(const std::vector<LevelOfZone>& zones, double EvaluatedLevel::*figure) {
  double sum = 0, weights = 0;
  for (const LevelOfZone& zone : zones) {
    sum += zone.area_ha * zone.level->*figure;
    weights += zone.area_ha;
  }
  return weights > 0 ? sum / weights : 0;
}

/// The figures of the zones that are told, weighted by their areas.
EvaluatedLevel weighted_level(const std::vector<LevelOfZone>& zones, double confidence) {
  EvaluatedLevel level;
  std::vector<LevelOfZone> told;
  std::vector<UniformityLimits> limits;
  std::vector<double> areas;
  for (const LevelOfZone& zone : zones) {
    level.count += zone.level->count;
    level.each = zone.level->each;
    if (!zone.level->told) continue;
    told.push_back(zone);
    limits.push_back(*zone.limits);
    areas.push_back(zone.area_ha);
  }
  level.told = !told.empty();
  if (!level.told) {
    level.why_not = "no zone has a uniformity that can be told";
    return level;
  }
  for (double EvaluatedLevel::*figure :
       {&EvaluatedLevel::mean_lph, &EvaluatedLevel::cv, &EvaluatedLevel::low_quarter_frac,
        &EvaluatedLevel::corrected_low_quarter_frac, &EvaluatedLevel::low_quarter_floor_frac,
        &EvaluatedLevel::low_quarter_ceiling_frac, &EvaluatedLevel::christiansen_frac,
        &EvaluatedLevel::statistical_frac, &EvaluatedLevel::absolute_emission_frac,
        &EvaluatedLevel::flow_variation_frac, &EvaluatedLevel::two_part_low_quarter_frac}) {
    level.*figure = weighted(told, figure);
  }
  for (const Measure measure : all_measures) {
    level.limits.push_back(weighted_limits(limits, areas, measure, confidence));
  }
  return level;
}

void weigh_levels(const std::vector<PartWithLimits>& zones, double confidence,
                  EvaluatedPart& whole) {
  std::vector<LevelOfZone> emitters, plants;
  for (const PartWithLimits& zone : zones) {
    emitters.push_back({&zone.part.emitters, &zone.limits, zone.part.area_ha});
    if (!zone.part.plants) continue;
    plants.push_back({&*zone.part.plants, &zone.plant_limits, zone.part.area_ha});
  }
  whole.emitters = weighted_level(emitters, confidence);
  if (!plants.empty()) whole.plants = weighted_level(plants, confidence);
}

/// Discharges with the area that each stands for.
struct Weighed {
  std::string of;  ///< "plants" or "emitters"
  std::vector<double> discharges_lph;
  std::vector<double> area_ha;
};

/// Plants where every zone with emitters has some that are told, else emitters.
Weighed received_in(const std::vector<PartWithLimits>& zones) {
  const bool plants = std::all_of(zones.begin(), zones.end(), [](const PartWithLimits& zone) {
    return zone.part.sample.emitters.empty() || (zone.part.plants && zone.part.plants->told);
  });
  Weighed all;
  all.of = plants ? "plants" : "emitters";
  for (const PartWithLimits& zone : zones) {
    const auto discharges = discharges_of(plants ? zone.plants : zone.part.sample);
    const double each = zone.part.area_ha / static_cast<double>(discharges.size());
    for (const double discharge : discharges) {
      all.discharges_lph.push_back(discharge);
      all.area_ha.push_back(each);
    }
  }
  return all;
}

/// Area that each emitter of the field stands for.
std::vector<double> area_weights(const EmitterSample& sample,
                                 const std::vector<PartWithLimits>& zones) {
  std::vector<double> weights;
  for (const SampledEmitter& emitter : sample.emitters) {
    const EvaluatedPart& part = zones[index(emitter.zone)].part;
    weights.push_back(part.area_ha / static_cast<double>(part.sample.emitters.size()));
  }
  return weights;
}

EvaluatedPart whole_part(const Evaluation& evaluation, const std::vector<PartWithLimits>& zones) {
  const Field& field = evaluation.field;
  EvaluatedPart part;
  part.name = "field";
  for (const PartWithLimits& zone : zones) part.area_ha += zone.part.area_ha;
  for (const PartWithLimits& zone : zones) {
    part.sample.emitters.insert(part.sample.emitters.end(), zone.part.sample.emitters.begin(),
                                zone.part.sample.emitters.end());
  }
  const EmitterSample all = sample_of(evaluation.survey, -1);
  part.sample.damaged = all.damaged;
  part.sample.not_found = all.not_found;
  part.sample.measuring_cv = all.measuring_cv;
  part.sample.measuring_freedom = all.measuring_freedom;
  count_places(part);
  weigh_levels(zones, evaluation.options.confidence, part);
  part.rest_on_model =
      std::any_of(zones.begin(), zones.end(), [](const auto& z) { return z.part.rest_on_model; });
  const std::vector<double> weights = area_weights(part.sample, zones);
  for (std::size_t i = 0; i < weights.size(); ++i) {
    if (weights[i] > 0) part.sample.emitters[i].weight = weights[i];
  }
  if (!part.sample.emitters.empty()) {
    part.plugged = measure_plugging(part.sample, {.confidence = evaluation.options.confidence});
  }
  part.ratings = ratings_of(part.emitters);
  part.fill_times = fill_times_of(evaluation.survey, -1);
  divide(evaluation, part);
  judge_sample(field, evaluation.options, part);
  const Weighed received = received_in(zones);
  part.depth_of = received.of;
  part.depth = depth_result(received.discharges_lph, received.area_ha,
                            depth_options(evaluation.watering.irrigation, part.area_ha));
  if (part.depth.computed) append(part.statements, {part.depth.remark});
  return part;
}

std::vector<std::string> not_computed_in(const Evaluation& evaluation) {
  const Field& field = evaluation.field;
  std::vector<std::string> list;
  for (const ExpectedZone& zone : evaluation.expectation.zones) {
    if (zone.computed) continue;
    list.push_back(
        fmt::format("pressures of zone {}: {}", field.zones[index(zone.zone)].id, zone.why_not));
  }
  if (evaluation.watering.agronomy.emitters_per_root_zone < 1) {
    list.emplace_back("what plants receive: needs [agronomy] emitters_per_root_zone");
  }
  if (!evaluation.watering.irrigation.season_net_need_mm) {
    list.emplace_back(
        "depths and volumes of a season: need [irrigation] season_net_need, or [agronomy] "
        "season_et with season_effective_rain");
  }
  if (!evaluation.watering.irrigation.set_time_s) {
    list.emplace_back("whether sets are long enough: needs [irrigation] set_time");
  }
  for (const Zone& zone : field.zones) {
    if (zone.emitter.manufacturing_cv > 0) continue;
    list.push_back(fmt::format(
        "clogging and wear against the maker's scatter in zone {}: needs manufacturing_cv",
        zone.id));
  }
  return list;
}

}  // namespace

const MeasureLimits* EvaluatedLevel::limits_of(Measure measure) const {
  for (const MeasureLimits& of_measure : limits) {
    if (of_measure.measure == measure) return &of_measure;
  }
  return nullptr;
}

Evaluation evaluated(Field field, const Watering& watering, Survey survey, Expectation expectation,
                     const EvaluationOptions& options) {
  Evaluation evaluation;
  evaluation.options = options;
  evaluation.field = std::move(field);
  evaluation.watering = watering;
  evaluation.survey = std::move(survey);
  evaluation.expectation = std::move(expectation);
  std::vector<PartWithLimits> zones;
  for (std::size_t z = 0; z < evaluation.field.zones.size(); ++z) {
    zones.push_back(zone_part(evaluation, static_cast<int>(z)));
  }
  evaluation.whole = whole_part(evaluation, zones);
  for (PartWithLimits& zone : zones) evaluation.zones.push_back(std::move(zone.part));
  evaluation.not_computed = not_computed_in(evaluation);
  append(evaluation.doubts, evaluation.field.doubts);
  append(evaluation.doubts, evaluation.survey.doubts);
  append(evaluation.doubts, evaluation.expectation.doubts);
  return evaluation;
}

EvaluatedPart evaluated_selection(const Evaluation& evaluation, const std::string& name,
                                  const std::vector<int>& laterals) {
  EvaluatedPart part;
  part.name = name;
  part.sample = sample_of(evaluation.survey, -1);
  std::erase_if(part.sample.emitters, [&](const SampledEmitter& emitter) {
    return std::find(laterals.begin(), laterals.end(), emitter.lateral) == laterals.end();
  });
  part.sample.damaged = part.sample.not_found = 0;
  for (const MeasuredEmitter& emitter : evaluation.survey.emitters) {
    if (std::find(laterals.begin(), laterals.end(), emitter.site.lateral) == laterals.end())
      continue;
    part.sample.damaged += emitter.state == EmitterState::dug_damage ? 1 : 0;
    part.sample.not_found += emitter.state == EmitterState::not_found ? 1 : 0;
  }
  const UniformityLimits limits = measure_sample(part, evaluation.options);
  const EmitterSample plants = plants_of(evaluation.watering.agronomy, part.sample);
  measure_plants(evaluation.watering.agronomy, evaluation.options, plants, part);
  judge_sample(evaluation.field, evaluation.options, part);
  tell_depths(depth_options(evaluation.watering.irrigation, 0), plants, part);
  append(part.statements, texts_of(limits.statements));
  return part;
}

std::vector<double> relative_discharges(const Evaluation& evaluation) {
  std::vector<double> relative;
  const auto& emitters = evaluation.survey.emitters;
  const auto& judged = evaluation.expectation.emitters;
  for (std::size_t i = 0; i < emitters.size(); ++i) {
    const MeasuredEmitter& emitter = emitters[i];
    double value = unknown;
    if (emitter.usable() && i < judged.size()) value = judged[i].delivery;
    const bool in_zone = emitter.site.zone >= 0 && emitter.usable();
    if (!std::isfinite(value) && in_zone) {
      const double mean = evaluation.zones[index(emitter.site.zone)].emitters.mean_lph;
      const double discharge = emitter.state == EmitterState::none ? 0 : emitter.discharge_lph;
      value = mean > 0 ? discharge / mean : unknown;
    }
    relative.push_back(value);
  }
  return relative;
}

}  // namespace evendrip
