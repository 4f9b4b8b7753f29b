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
  spread.seen = 1e9;
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
  spread.seen = 1e9;
  const ModelUniformity found =
      model_uniformity(even_draws(40, 1), zone_of_emitters(), spread, 4, 3);
  EXPECT_NEAR(found.plants.value, 1 - 1.2711 * 0.05, 0.003);
}

TEST(ModelUniformity, FallsWithThePluggedShareAndIsUncertainWhereFewWereSeen) {
  EmitterSpread few;
  few.sd = 0.02;
  few.plugged = 2;
  few.seen = 24;
  EmitterSpread many = few;
  many.plugged = 200;
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

TEST(ModelUniformity, OfNothingIsNothing) {
  EXPECT_EQ(model_uniformity({}, zone_of_emitters(), {}, 1, 1).draws, 0);
  EXPECT_EQ(model_uniformity(even_draws(3, 1), {}, {}, 1, 1).draws, 0);
}

}  // namespace
}  // namespace evendrip
