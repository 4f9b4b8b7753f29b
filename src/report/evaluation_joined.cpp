// SPDX-License-Identifier: Apache-2.0
// Several zones as one part, each weighted by its area.
#include <algorithm>

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

std::size_t index(int i) {
  return static_cast<std::size_t>(i);
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
    const EmitterSample& sample = plants ? zone.plants : zone.part.sample;
    double weights = 0;
    for (const SampledEmitter& emitter : sample.emitters) weights += emitter.weight;
    for (const SampledEmitter& emitter : sample.emitters) {
      all.discharges_lph.push_back(emitter.discharge_lph);
      all.area_ha.push_back(zone.part.area_ha * emitter.weight / weights);
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
    weights.push_back(part.area_ha * emitter.weight /
                      static_cast<double>(part.sample.emitters.size()));
  }
  return weights;
}

}  // namespace

EvaluatedPart joined_part(const Scope& scope, const std::vector<PartWithLimits>& zones) {
  EvaluatedPart part;
  part.name = "field";
  for (const PartWithLimits& zone : zones) part.area_ha += zone.part.area_ha;
  for (const PartWithLimits& zone : zones) {
    part.sample.emitters.insert(part.sample.emitters.end(), zone.part.sample.emitters.begin(),
                                zone.part.sample.emitters.end());
  }
  const EmitterSample all = sample_of(scope.survey, -1);
  part.sample.damaged = all.damaged;
  part.sample.not_found = all.not_found;
  part.sample.measuring_cv = all.measuring_cv;
  part.sample.measuring_freedom = all.measuring_freedom;
  count_places(part);
  weigh_levels(zones, scope.evaluation.options.confidence, part);
  part.rest_on_model =
      std::any_of(zones.begin(), zones.end(), [](const auto& z) { return z.part.rest_on_model; });
  const std::vector<double> weights = area_weights(part.sample, zones);
  for (std::size_t i = 0; i < weights.size(); ++i) {
    if (weights[i] > 0) part.sample.emitters[i].weight = weights[i];
  }
  if (!part.sample.emitters.empty()) {
    PluggingOptions plugging;
    plugging.confidence = scope.evaluation.options.confidence;
    plugging.zone = dug_from(scope, -1);
    part.plugged = measure_plugging(part.sample, plugging);
  }
  part.ratings = ratings_of(part.emitters);
  part.fill_times = fill_times_of(scope.survey, -1);
  divide(scope, part);
  judge_sample(scope, part);
  const Weighed received = received_in(zones);
  part.depth_of = received.of;
  part.depth = depth_result(received.discharges_lph, received.area_ha,
                            depth_options(scope.evaluation.watering.irrigation, part.area_ha));
  part.applied = applied_depth(part.depth, scope.evaluation.watering.irrigation);
  part.schedule = watering_schedule(scope.evaluation, part.depth, -1);
  if (part.depth.computed && !part.depth.remark.empty()) {
    part.statements.push_back(part.depth.remark);
  }
  return part;
}

}  // namespace evendrip
