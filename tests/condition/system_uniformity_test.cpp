// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/system_uniformity.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "evendrip/uniformity/measures.hpp"

namespace evendrip {
namespace {

/// 40 laterals of 100 emitters, ten segments each.
EmitterSegments zone_of_emitters() {
  EmitterSegments emitters(40);
  for (int row = 0; row < 40; ++row)
    for (int e = 0; e < 100; ++e)
      emitters[static_cast<std::size_t>(row)].push_back(row * 10 + e / 10);
  return emitters;
}

std::vector<std::vector<double>> even_draws(int count, double value) {
  return std::vector<std::vector<double>>(static_cast<std::size_t>(count),
                                          std::vector<double>(400, value));
}

TEST(ModelUniformity, OfEmittersThatVaryNormallyIsThatOfTheNormalDistribution) {
  // Mean of the lowest quarter of a normal distribution: 1 - 1.2711 cv. Keller & Karmeli 1974 use
  // 1.27 (from memory).
  EmitterSpread spread;
  spread.sd = 0.1;
  spread.clogging.share = 0;
  const ModelUniformity found =
      model_uniformity(even_draws(40, 1), zone_of_emitters(), spread, 1, 3);
  EXPECT_NEAR(found.emitters.value, 1 - 1.2711 * 0.1, 0.002);
  EXPECT_NEAR(found.plants.value, found.emitters.value, 1e-12);
  EXPECT_LT(found.emitters.lower_90, found.emitters.value);
  EXPECT_GT(found.emitters.upper_90, found.emitters.value);
  EXPECT_EQ(found.draws, 40);
}

TEST(ModelUniformity, OfPlantsWithFourEmittersFeelsHalfTheSpread) {
  EmitterSpread spread;
  spread.sd = 0.1;
  spread.clogging.share = 0;
  const ModelUniformity found =
      model_uniformity(even_draws(40, 1), zone_of_emitters(), spread, 4, 3);
  EXPECT_NEAR(found.plants.value, 1 - 1.2711 * 0.05, 0.003);
}

TEST(ModelUniformity, FallsWithThePluggedShareAndIsUncertainWhereFewWereSeen) {
  EmitterSpread few;
  few.sd = 0.02;
  few.clogging.share = 1.0 / 12;
  few.seen = 24;
  EmitterSpread many = few;
  many.seen = 2400;
  const auto uncertain = model_uniformity(even_draws(60, 1), zone_of_emitters(), few, 1, 5);
  const auto certain = model_uniformity(even_draws(60, 1), zone_of_emitters(), many, 1, 5);
  // A share p below a quarter, worth 0.375 each, among sound ones of 1: the lowest quarter is
  // 1 - 0.625 p / 0.25 of a mean 1 - 0.625 p.
  const double p = 1.0 / 12;
  EXPECT_NEAR(certain.emitters.value, (1 - 2.5 * p) / (1 - 0.625 * p), 0.03);
  EXPECT_GT(uncertain.emitters.upper_90 - uncertain.emitters.lower_90,
            3 * (certain.emitters.upper_90 - certain.emitters.lower_90));
}

TEST(ModelUniformity, TakesTheSpreadOfEachDraw) {
  EmitterSpread spread;
  spread.sd = 0.05;
  spread.clogging.share = 0;
  spread.factors.assign(40, 2);
  const ModelUniformity found =
      model_uniformity(even_draws(40, 1), zone_of_emitters(), spread, 1, 3);
  EXPECT_NEAR(found.emitters.value, 1 - 1.2711 * 0.1, 0.002);
}

TEST(DrawnShare, HasTheMeanAndTheSpreadOfItsBetaDistribution) {
  EmitterSpread spread;
  spread.clogging.share = 0.06;
  spread.seen = 34;
  constexpr std::size_t draws = 20000;
  double mean = 0;
  double square = 0;
  for (std::size_t draw = 0; draw < draws; ++draw) {
    const double share = drawn_share(spread, 9, draw);
    mean += share / draws;
    square += share * share / draws;
  }
  EXPECT_NEAR(mean, 0.06, 0.001);
  EXPECT_NEAR(square - mean * mean, 0.06 * 0.94 / 35, 5e-5);
  EXPECT_EQ(drawn_share(spread, 9, 4), drawn_share(spread, 9, 4));
  spread.clogging.share = 0;
  EXPECT_EQ(drawn_share(spread, 9, 4), 0);
  spread.clogging.share = 1;
  EXPECT_EQ(drawn_share(spread, 9, 4), 1);
}

TEST(DrawnFactors, FollowWhatHolesAreOffTheDraws) {
  EmitterSpread spread;
  spread.sd = 0.04;
  const std::vector<std::vector<double>> r(4000, {1.0, 0.9});
  const auto mean_square = [&](const std::vector<SpreadDatum>& holes) {
    double sum = 0;
    for (const double factor : drawn_factors(r, holes, spread, 2)) sum += factor * factor;
    return sum / static_cast<double>(r.size());
  };
  // Scaled inverse chi-squared: its mean is the sum of squares over two less than its degrees.
  EXPECT_NEAR(mean_square({}), 12.5 / 10.5, 0.03);
  std::vector<SpreadDatum> wide;
  for (int k = 0; k < 100; ++k) wide.push_back({0, k % 2 == 0 ? 1.08 : 0.92, 0, 1});
  EXPECT_NEAR(mean_square(wide), (12.5 + 4 * 100) / 110.5, 0.03);
  for (SpreadDatum& hole : wide) hole.sound = 0;
  EXPECT_NEAR(mean_square(wide), 12.5 / 10.5, 0.03);
  // What measuring adds is not the emitters'.
  for (SpreadDatum& hole : wide) {
    hole.sound = 1;
    hole.noise_variance = 0.08 * 0.08 - 0.04 * 0.04;
  }
  EXPECT_NEAR(mean_square(wide), 112.5 / 110.5, 0.03);
}

TEST(DrawnFactors, ExpectEmittersOfAPoorPlaceToDifferMore) {
  EmitterSpread spread;
  spread.sd = 0.04;
  const std::vector<SpreadDatum> hole = {{0, 0.8, 0, 1}};
  const double sound = drawn_factors({{1.0}}, hole, spread, 2).front();
  const double poor = drawn_factors({{0.6}}, hole, spread, 2).front();
  EXPECT_LT(poor, 0.8 * sound);
}

TEST(JudgedBy, TellsMeanSpreadAndPercentiles) {
  std::vector<double> values;
  for (int v = 100; v >= 0; --v) values.push_back(v);
  const Judged found = judged_by(values);
  EXPECT_NEAR(found.value, 50, 1e-12);
  EXPECT_NEAR(found.sd, std::sqrt(101.0 * 102 / 12), 1e-9);
  EXPECT_NEAR(found.lower_90, 5, 1e-9);
  EXPECT_NEAR(found.upper_90, 95, 1e-9);
  EXPECT_EQ(judged_by({}).value, 0);
}

TEST(ModelUniformity, OfNothingIsNothing) {
  EXPECT_EQ(model_uniformity({}, zone_of_emitters(), {}, 1, 1).draws, 0);
  EXPECT_EQ(model_uniformity(even_draws(3, 1), {}, {}, 1, 1).draws, 0);
}

}  // namespace
}  // namespace evendrip
