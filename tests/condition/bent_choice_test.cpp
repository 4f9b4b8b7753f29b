// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/bent_choice.hpp"

#include <gtest/gtest.h>

#include "wide_laterals.hpp"

namespace evendrip {
namespace {

test::DrawnZone zone_of(std::uint64_t seed, bool saturated) {
  const ConditionParameters p = test::wide_laterals(0.02);
  return saturated ? test::saturated_zone(p, seed) : test::drawn_zone(p, seed);
}

TEST(ChooseBend, BendsForACropThatTakesNoMoreThanItNeeds) {
  int bent = 0;
  double straight_error = 0;
  double bent_error = 0;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const test::DrawnZone zone = zone_of(seed, true);
    ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    auto condition = zone_condition(model, 0.3);
    ASSERT_TRUE(condition);
    straight_error += test::rms_difference(condition->estimate.r, zone.r);
    const auto choice = choose_bend(model, 0.3, *condition, {});
    bent_error += test::rms_difference(condition->estimate.r, zone.r);
    if (!choice) continue;
    ++bent;
    EXPECT_GT(choice->gain, 0);
    EXPECT_EQ(choice->kink.beyond, 0);
  }
  EXPECT_GE(bent, 3);
  EXPECT_LT(bent_error, straight_error);
}

TEST(ChooseBend, StaysStraightForACropThatAnswersToAllWater) {
  int bent = 0;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const test::DrawnZone zone = zone_of(seed, false);
    ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    auto condition = zone_condition(model, 0.3);
    ASSERT_TRUE(condition);
    const std::vector<double> before = condition->estimate.r;
    if (choose_bend(model, 0.3, *condition, {})) {
      ++bent;
      continue;
    }
    EXPECT_EQ(condition->estimate.r, before);
  }
  EXPECT_LE(bent, 1);
}

TEST(ChooseBend, HasNothingToBendWithoutCropOrWithoutHoles) {
  const test::DrawnZone zone = zone_of(1, true);
  ZoneModel holes(zone.grid, zone.holes, {}, zone.ranges);
  auto condition = zone_condition(holes, 0.3);
  ASSERT_TRUE(condition);
  EXPECT_FALSE(choose_bend(holes, 0.3, *condition, {}));
}

}  // namespace
}  // namespace evendrip
