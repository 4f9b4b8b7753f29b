// SPDX-License-Identifier: Apache-2.0
#include "../../src/uniformity/lateral_resampling.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include <boost/random/normal_distribution.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

/// Normal effects of known spread on `laterals` laterals of `pits` pits of `emitters` emitters.
std::vector<LevelledEmitter> levelled(int laterals, int pits, int emitters, double lateral_sd,
                                      double pit_sd, double emitter_sd, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {9});
  boost::random::normal_distribution<double> normal(0, 1);
  std::vector<LevelledEmitter> list;
  for (int l = 0; l < laterals; ++l) {
    const double lateral = 10 + lateral_sd * normal(stream);
    for (int p = 0; p < pits; ++p) {
      const double pit = lateral + pit_sd * normal(stream);
      for (int e = 0; e < emitters; ++e) {
        list.push_back({pit + emitter_sd * normal(stream), 1, l, l * pits + p});
      }
    }
  }
  return list;
}

double variance_of(const std::vector<Runners::Emitter>& list) {
  double mean = 0;
  for (const auto& e : list) mean += e.discharge / static_cast<double>(list.size());
  double squares = 0;
  for (const auto& e : list) squares += (e.discharge - mean) * (e.discharge - mean);
  return squares / static_cast<double>(list.size());
}

TEST(LateralResampling, FindsTheVariancesOfThreeLevels) {
  double lateral = 0;
  double pit = 0;
  double emitter = 0;
  constexpr int turns = 200;
  for (int t = 0; t < turns; ++t) {
    const LateralResampling resampling(
        levelled(20, 3, 3, 0.8, 0.5, 0.3, static_cast<std::uint64_t>(t)));
    lateral += resampling.lateral_variance() / turns;
    pit += resampling.pit_variance() / turns;
    emitter += resampling.emitter_variance() / turns;
  }
  EXPECT_NEAR(lateral, 0.64, 0.06);
  EXPECT_NEAR(pit, 0.25, 0.02);
  EXPECT_NEAR(emitter, 0.09, 0.005);
}

// Worked by hand: lateral means 2 and 4 of two emitters each; mean squares 4 between and 2 within,
// so the variance of laterals is (4 - 2) / 2.
TEST(LateralResampling, FindsTheVariancesOfAHandWorkedTable) {
  const std::vector<LevelledEmitter> table = {
      {1, 1, 0, 0}, {3, 1, 0, 1}, {3, 1, 1, 2}, {5, 1, 1, 3}};
  const LateralResampling resampling(table);
  EXPECT_NEAR(resampling.lateral_variance(), 1, 1e-12);
  EXPECT_NEAR(resampling.emitter_variance(), 2, 1e-12);
  EXPECT_EQ(resampling.pit_variance(), 0);
}

TEST(LateralResampling, HasAPopulationAsVariedAsTheSample) {
  const auto list = levelled(8, 2, 3, 0.5, 0.2, 0.4, 4);
  std::vector<Runners::Emitter> sample;
  for (const auto& e : list) sample.push_back({e.discharge, 1, 0});
  const LateralResampling resampling(list);
  ASSERT_GT(resampling.lateral_variance(), 0);
  EXPECT_NEAR(variance_of(resampling.population()), variance_of(sample),
              1e-9 * variance_of(sample));
}

TEST(LateralResampling, DrawsTheEmittersAsTheyStandWhereLateralsDoNotDiffer) {
  std::vector<LevelledEmitter> list;
  for (int i = 0; i < 12; ++i) list.push_back({1.0 + 0.1 * (i / 4), 1, i % 4, i});
  LateralResampling resampling(list);
  EXPECT_EQ(resampling.lateral_variance(), 0);
  std::mt19937_64 stream = item_stream(1, {1});
  std::vector<Runners::Emitter> drawn;
  resampling.draw(stream, drawn);
  ASSERT_EQ(drawn.size(), 12U);
  for (const auto& e : drawn) {
    EXPECT_TRUE(std::any_of(list.begin(), list.end(), [&](const LevelledEmitter& l) {
      return std::abs(l.discharge - e.discharge) < 1e-12;
    }));
  }
}

TEST(LateralResampling, DrawsLateralsThatVaryAsTheirVarianceSays) {
  LateralResampling resampling(levelled(10, 1, 6, 0.6, 0, 0.2, 8));
  std::mt19937_64 stream = item_stream(2, {1});
  std::vector<Runners::Emitter> drawn;
  double between = 0;
  constexpr int turns = 2000;
  for (int t = 0; t < turns; ++t) {
    resampling.draw(stream, drawn);
    double sum = 0;
    for (const auto& e : drawn) sum += e.discharge / 60;
    between += (sum - 10) * (sum - 10) / turns;
  }
  double centre = 0;
  const auto population = resampling.population();
  for (const auto& e : population) {
    centre += e.discharge / static_cast<double>(population.size());
  }
  const double variance = between - (centre - 10) * (centre - 10);
  const double expected = resampling.lateral_variance() / 10 + resampling.emitter_variance() / 60;
  EXPECT_NEAR(variance, expected, 0.25 * expected);
}

TEST(LateralResampling, TakesHeavyEmittersMoreOften) {
  std::vector<LevelledEmitter> list;
  for (int i = 0; i < 10; ++i) list.push_back({i < 5 ? 1.0 : 2.0, i < 5 ? 3.0 : 1.0, i, i});
  LateralResampling resampling(list);
  std::mt19937_64 stream = item_stream(2, {1});
  std::vector<Runners::Emitter> drawn;
  double low = 0;
  for (int t = 0; t < 2000; ++t) {
    resampling.draw(stream, drawn);
    for (const auto& e : drawn) low += e.discharge < 1.5 ? 1.0 / 20'000 : 0;
  }
  EXPECT_NEAR(low, 0.75, 0.02);
}

}  // namespace
}  // namespace evendrip
