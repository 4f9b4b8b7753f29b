// SPDX-License-Identifier: Apache-2.0
// The zone of lined_zone.hpp with holes, judged without pipes.
#pragma once

#include <cmath>
#include <random>
#include <vector>

#include "evendrip/condition/field_condition.hpp"
#include "lined_zone.hpp"

namespace evendrip::test {

inline constexpr double spacing_m = 1.5;

/// Emitters half a metre apart on the laterals of lined_field.
inline Field with_emitters(Field field) {
  field.zones[0].id = "Z1";
  field.zones[0].emitter.spacing_m = 0.5;
  field.zones[0].emitter.first_offset_m = 0.25;
  for (Lateral& lateral : field.laterals) lateral.emitters = 120;
  return field;
}

/// Four holes on each of six laterals, two of which are those that the crop of lined_zone.hpp has
/// low.
inline DischargeSamples dug(double low, double noise_sd) {
  std::mt19937_64 stream(5);
  std::normal_distribution<double> normal(0, noise_sd);
  DischargeSamples samples;
  samples.zones = {{0, 24, 0, 1.0, ReferenceKind::clean_system}};
  for (const int lateral : {1, 6, 10, 15, 18, 22})
    for (const double station_m : {8.0, 23.0, 38.0, 53.0}) {
      const double r = (lateral == 6 || lateral == 15 ? low : 1.0) + normal(stream);
      samples.samples.push_back(
          {{{0.75 + spacing_m * lateral, station_m}, lateral, station_m, 0}, r, 1e-4});
    }
  return samples;
}

/// Without pipes, in segments of 10 m.
inline FieldCondition judged(const Field& field, const DischargeSamples& samples,
                             const std::vector<CropWitness>& crops, int threads = 1,
                             const Survey& survey = {}) {
  Expectation expectation;
  expectation.zones.resize(field.zones.size());
  for (ExpectedZone& zone : expectation.zones) zone.why_not = "needs [layers] manifolds";
  ConditionOptions options;
  options.draws = 40;
  options.segment_m = 10;
  Work work;
  work.threads = threads;
  return judge_condition(field, survey, expectation, samples, crops, options, work);
}

}  // namespace evendrip::test
