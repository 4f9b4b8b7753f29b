// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/heard_meter.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include "drawn_zone.hpp"

namespace evendrip {
namespace {

constexpr double leak = 0.02;  ///< mean of MeterDatum's leaks

/// A drawn zone judged at its own parameters, without plugged emitters, and its meter.
struct Metered {
  ConditionParameters parameters;
  test::DrawnZone zone = test::drawn_zone(parameters, 7);
  ZoneModel model{zone.grid, zone.holes, {}, zone.ranges};
  ZoneCondition condition;
  std::vector<int> emitters;
  MeterDatum datum;

  Metered() {
    condition.fit.parameters = parameters;
    condition.estimate = model.estimate(parameters).value();
    condition.delivered = condition.estimate.r;
    condition.clogging.share = 0;
    // More of them on every second segment.
    for (int i = 0; i < zone.grid.segments(); ++i) emitters.push_back(i % 2 == 0 ? 20 : 10);
    datum.noise_variance = 0.03 * 0.03;
  }
  double mean_of(const std::vector<double>& values) const {
    double sum = 0;
    for (std::size_t i = 0; i < values.size(); ++i) sum += emitters[i] * values[i];
    return sum / std::accumulate(emitters.begin(), emitters.end(), 0.0);
  }
  double mean() const { return mean_of(condition.estimate.r); }
  MeterHeard hear(double value) {
    datum.value = value;
    return hear_meter(datum, model, emitters, 0.75, condition).value();
  }
};

TEST(PullOfMean, IsOfTheMeanThatTheEstimateHas) {
  Metered m;
  std::vector<double> weights(m.emitters.begin(), m.emitters.end());
  const double all = std::accumulate(weights.begin(), weights.end(), 0.0);
  for (double& weight : weights) weight /= all;
  m.model.set_known_change(std::vector<double>(m.emitters.size(), -0.1));
  const auto pull = m.model.pull_of_mean(m.parameters, weights);
  ASSERT_TRUE(pull);
  EXPECT_NEAR(pull->mean, m.mean_of(m.model.estimate(m.parameters)->r), 1e-12);
  EXPECT_NEAR(m.mean_of(pull->moved.r), 1, 1e-9);
  double squares = 0;
  const auto draws = m.model.draws(m.parameters, 2000, 3);
  for (const auto& draw : draws) squares += std::pow(m.mean_of(draw) - pull->mean, 2) / 2000;
  EXPECT_NEAR(squares / pull->variance, 1, 0.15);  // a standard error of 0.03
  const std::size_t some = 5 * static_cast<std::size_t>(m.zone.grid.stations()) + 3;
  EXPECT_NEAR(pull->moved.level + pull->moved.along[3] + pull->moved.own[5] + pull->moved.group[5] +
                  pull->moved.local[some],
              pull->moved.r[some], 1e-12);
  EXPECT_THROW(m.model.pull_of_mean(m.parameters, {}), std::invalid_argument);
}

// Bayes' rule by brute force: over leaks, for each of which the mean is normal given the reading.
TEST(HeardMeter, MovesTheMeanByBayesRule) {
  for (const double off : {-0.1, -0.02, 0.0, 0.03, 0.15}) {
    Metered m;
    const double before = m.mean();
    const MeterHeard heard = m.hear(before + off);
    const double prior = heard.pull.variance;
    const double noise = m.datum.noise_variance;
    const double with = prior / (prior + noise);
    double weights = 0;
    double first = 0;
    double second = 0;
    for (double l = 2.5e-5; l < 0.5; l += 5e-5) {
      const double weight = std::exp(-l / leak - 0.5 * (off - l) * (off - l) / (prior + noise));
      const double moved = with * (off - l);
      weights += weight;
      first += weight * moved;
      second += weight * (moved * moved + prior * (1 - with));
    }
    const double moved = first / weights;
    EXPECT_NEAR(heard.moved, moved, 1e-5) << off;
    EXPECT_NEAR(heard.variance_left, (second / weights - moved * moved) / prior, 2e-3) << off;
    EXPECT_NEAR(m.mean() - before, heard.moved, 1e-12);
  }
}

// Draws weighed by how likely they make the reading have the moved estimate's mean and variance.
TEST(HeardMeter, MovesEverySegmentAsWeighedDrawsDo) {
  Metered m;
  constexpr int count = 6000;
  const auto draws = m.model.draws(m.parameters, count, 5);
  const MeterHeard heard = m.hear(m.mean() - 0.05);
  std::vector<double> means(m.emitters.size(), 0);
  double all = 0;
  for (const auto& draw : draws) {
    const double weight = std::exp(m.datum.log_likelihood(m.mean_of(draw), 0));
    all += weight;
    for (std::size_t i = 0; i < means.size(); ++i) means[i] += weight * draw[i];
  }
  for (std::size_t i = 0; i < means.size(); ++i) {
    const double sd = std::sqrt(m.condition.estimate.r_variance[i]);
    EXPECT_NEAR(means[i] / all, m.condition.estimate.r[i], 0.12 * sd) << i;
  }
  auto moved = draws;
  move_draws(heard, m.emitters, moved);
  double mean = 0;
  double squares = 0;
  for (const auto& draw : moved) mean += m.mean_of(draw) / count;
  for (const auto& draw : moved) squares += std::pow(m.mean_of(draw) - mean, 2) / count;
  EXPECT_NEAR(mean, m.mean(), 0.06 * std::sqrt(heard.pull.variance));
  EXPECT_NEAR(squares / (heard.pull.variance * heard.variance_left), 1, 0.08);
}

TEST(HeardMeter, TakesMuchMoreWaterForALeak) {
  Metered little;
  Metered much;
  const double before = little.mean();
  const MeterHeard by_little = little.hear(before + 0.3);
  const MeterHeard by_much = much.hear(before + 0.6);
  EXPECT_NEAR(by_little.moved, by_much.moved, 1e-4);
  EXPECT_LT(by_much.moved, 1.01 * by_much.pull.variance / leak);
  Metered low;
  EXPECT_LT(low.hear(before - 0.3).moved, -3 * by_much.moved);
}

TEST(HeardMeter, NeverMakesAPlaceLessSure) {
  Metered m;
  const std::vector<double> before = m.condition.estimate.r_variance;
  m.condition.clogging.share = 0.1;
  const MeterHeard heard = m.hear(0.9);
  EXPECT_LT(heard.variance_left, 1);
  for (std::size_t i = 0; i < before.size(); ++i) {
    EXPECT_LE(m.condition.estimate.r_variance[i], before[i] + 1e-12);
    EXPECT_NEAR(m.condition.delivered[i], 0.9 * m.condition.estimate.r[i], 1e-12);
  }
}

TEST(HeardMeter, SaysNothingWhereThereAreNoEmitters) {
  Metered m;
  m.emitters.assign(m.emitters.size(), 0);
  EXPECT_FALSE(hear_meter(m.datum, m.model, m.emitters, 0.75, m.condition));
}

}  // namespace
}  // namespace evendrip
