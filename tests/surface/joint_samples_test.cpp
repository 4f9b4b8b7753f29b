// SPDX-License-Identifier: Apache-2.0
#include "../../src/surface/joint_samples.hpp"

#include "lateral_samples.hpp"
#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <vector>

namespace evendrip {
namespace {

/// Laterals and a local part about a mean and a trend along the lateral.
SurfaceModel lateral_model() {
  SurfaceModel model;
  model.trend = {constant_term(), station_term(field_under(8), 1)};
  CorrelationFactor local;
  local.range_m = 20;
  model.covariance.terms = {{"laterals", 0.01, {{Metric::same_lateral}}},
                            {"local", 0.004, {local}}};
  model.nugget = 0.002;
  return model;
}

Samples noisy_samples() {
  Samples samples = dug_along(8, 4, {0.9, 0.1, 0.05, -0.1}, 21);
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i].noise_variance = 0.0005 * static_cast<double>(i % 3);
  return samples;
}

Samples without(const Samples& samples, const std::vector<int>& group) {
  Samples rest;
  for (std::size_t i = 0; i < samples.size(); ++i)
    if (std::find(group.begin(), group.end(), static_cast<int>(i)) == group.end())
      rest.push_back(samples[i]);
  return rest;
}

double weighted(const std::vector<double>& weights, const Samples& samples) {
  double sum = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) sum += weights.at(i) * samples[i].value;
  return sum;
}

TEST(JointSamples, ForetellAGroupAsTheOthersDoAlone) {
  const Samples samples = noisy_samples();
  const JointSamples joint(samples, lateral_model());
  for (const std::vector<int>& group :
       {std::vector<int>{5}, std::vector<int>{4, 5, 6, 7}, std::vector<int>{0, 9, 31}}) {
    const SeenFromOthers seen = joint.from_others(group);
    const Samples rest = without(samples, group);
    const JointSamples others(rest, lateral_model());
    for (std::size_t k = 0; k < group.size(); ++k) {
      const Sample& sample = samples[static_cast<std::size_t>(group[k])];
      const auto weights = others.weights_of_mean(std::vector{sample.site}, {});
      EXPECT_NEAR(seen.errors[k], sample.value - weighted(weights, rest), 1e-11);
    }
  }
}

TEST(JointSamples, TellTheDensityOfAGroupOneAfterTheOther) {
  const Samples samples = noisy_samples();
  const JointSamples joint(samples, lateral_model());
  const std::vector<int> lateral{4, 5, 6, 7};
  double sum = 0;
  for (std::size_t known = 0; known < lateral.size(); ++known) {
    // The group's first `known` are known besides the rest; the next one is foretold.
    const std::vector<int> hidden(lateral.begin() + static_cast<std::ptrdiff_t>(known) + 1,
                                  lateral.end());
    const JointSamples part(without(samples, hidden), lateral_model());
    const std::vector<int> next{lateral[known]};
    const SeenFromOthers seen = part.from_others(next);
    EXPECT_NEAR(seen.log_density,
                -0.5 * (std::log(2 * std::numbers::pi * seen.variances[0]) +
                        seen.errors[0] * seen.errors[0] / seen.variances[0]),
                1e-11);
    sum += seen.log_density;
  }
  EXPECT_NEAR(joint.from_others(lateral).log_density, sum, 1e-9);
}

TEST(JointSamples, KnowTheErrorOfAPlainMean) {
  SurfaceModel model;
  model.trend = {constant_term()};
  model.nugget = 0.04;
  const JointSamples joint({sample_at(0, 0, 1), sample_at(1, 0, 2), sample_at(2, 0, 4)}, model);
  const std::vector<int> first{0};
  const SeenFromOthers seen = joint.from_others(first);
  EXPECT_NEAR(seen.errors[0], -2, 1e-12);
  EXPECT_NEAR(seen.variances[0], 0.04 * 1.5, 1e-12);
}

TEST(JointSamples, WithAKnownMeanLookAtItAlone) {
  SurfaceModel model;
  model.known_mean = 1;
  model.nugget = 0.04;
  const JointSamples joint({sample_at(0, 0, 1.5), sample_at(1, 0, 2)}, model);
  const std::vector<int> first{0};
  EXPECT_NEAR(joint.from_others(first).errors[0], 0.5, 1e-12);
  EXPECT_NEAR(joint.from_others(first).variances[0], 0.04, 1e-12);
}

TEST(JointSamples, SayNothingOfAGroupThatATermOfTheTrendRestsOn) {
  Samples samples = dug_along(4, 3, {}, 22);
  for (Sample& sample : dug_along(1, 3, {}, 23, 1)) {
    sample.site.lateral = 99;
    samples.push_back(sample);
  }
  Field field = field_under(4);
  field.zones.push_back(field.zones[0]);
  SurfaceModel model;
  model.trend = {zone_term(field, 0), zone_term(field, 1)};
  model.nugget = 0.01;
  const JointSamples joint(samples, model);
  ASSERT_TRUE(joint.solvable());
  EXPECT_TRUE(joint.from_others(std::vector<int>{12, 13, 14}).errors.empty());
  EXPECT_FALSE(joint.from_others(std::vector<int>{12, 13}).errors.empty());
  EXPECT_FALSE(joint.from_others(std::vector<int>{0, 1, 2}).errors.empty());
}

TEST(JointSamples, AreNotSolvableWithoutNoiseAtOnePlaceOrWithTermsThatDepend) {
  CorrelationFactor local;
  local.range_m = 20;
  SurfaceModel model;
  model.trend = {constant_term()};
  model.covariance.terms = {{"local", 1, {local}}};
  EXPECT_FALSE(JointSamples({sample_at(0, 0, 1), sample_at(0, 0, 2)}, model).solvable());
  model.nugget = 0.1;
  EXPECT_TRUE(JointSamples({sample_at(0, 0, 1), sample_at(0, 0, 2)}, model).solvable());
  model.trend.push_back(constant_term());
  EXPECT_FALSE(JointSamples(scattered(10), model).solvable());
  EXPECT_FALSE(JointSamples({}, model).solvable());
}

TEST(JointSamples, WeighSoThatAMeanOfOnesIsOne) {
  const Samples samples = noisy_samples();
  std::vector<Site> sites;
  for (const Sample& sample : dug_along(8, 90, {}, 24)) sites.push_back(sample.site);
  Work two;
  two.threads = 2;
  const JointSamples joint(samples, lateral_model());
  const auto weights = joint.weights_of_mean(sites, {});
  EXPECT_NEAR(std::accumulate(weights.begin(), weights.end(), 0.0), 1, 1e-11);
  EXPECT_EQ(weights, joint.weights_of_mean(sites, two));
  std::vector<double> one_by_one(samples.size(), 0);
  for (const Site& site : sites) {
    const auto single = joint.weights_of_mean(std::vector{site}, {});
    for (std::size_t i = 0; i < single.size(); ++i)
      one_by_one[i] += single[i] / static_cast<double>(sites.size());
  }
  for (std::size_t i = 0; i < weights.size(); ++i) EXPECT_NEAR(weights[i], one_by_one[i], 1e-12);
}

}  // namespace
}  // namespace evendrip
