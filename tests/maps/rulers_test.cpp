// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/rulers.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

TEST(RoundStep, IsTheSmallestOfOneTwoFiveThatNeedsNoMoreParts) {
  EXPECT_DOUBLE_EQ(round_step(10, 5), 2);
  EXPECT_DOUBLE_EQ(round_step(11, 5), 5);
  EXPECT_DOUBLE_EQ(round_step(0.9, 10), 0.1);
  EXPECT_DOUBLE_EQ(round_step(1000, 1), 1000);
  EXPECT_DOUBLE_EQ(round_step(0, 5), 1);
  for (double range = 0.013; range < 1e5; range *= 1.37) {
    for (const int parts : {1, 4, 7}) {
      EXPECT_LE(range / round_step(range, parts), parts * (1 + 1e-8)) << range;
      EXPECT_GT(range / round_step(range, parts), parts / 2.5 * (1 - 1e-8)) << range;
    }
  }
}

TEST(MultiplesWithin, HoldBothEndsDespiteRounding) {
  const auto values = multiples_within(0.1, 0.7, 0.1);
  ASSERT_EQ(values.size(), 7U);
  EXPECT_NEAR(values.front(), 0.1, 1e-12);
  EXPECT_NEAR(values.back(), 0.7, 1e-12);
  EXPECT_TRUE(multiples_within(1.1, 1.9, 1).empty());
  EXPECT_EQ(multiples_within(-1, 1, 1).size(), 3U);
}

TEST(DecimalsOf, AreThoseThatWriteTheStepExactly) {
  EXPECT_EQ(decimals_of(50), 0);
  EXPECT_EQ(decimals_of(0.5), 1);
  EXPECT_EQ(decimals_of(0.02), 2);
  EXPECT_EQ(decimals_of(12.5), 1);
}

TEST(ScaleBar, IsTrueOnTheGround) {
  // On the central meridian of UTM 1000 m on the ground are 999.6 m in the grid (scale factor
  // 0.9996 by definition of the projection).
  const ScaleBar bar = scale_bar(0.5, 0.9996, 600, UnitSystem::metric);
  EXPECT_DOUBLE_EQ(bar.ground_m, 1000);
  EXPECT_NEAR(bar.paper, 1000 * 0.9996 * 0.5, 1e-9);
}

TEST(ScaleBar, NeverPassesTheRoomAndUsesHalfOrMoreOfTwoFifths) {
  for (double density = 1e-3; density < 10; density *= 1.21) {
    for (const UnitSystem units : {UnitSystem::metric, UnitSystem::us}) {
      const ScaleBar bar = scale_bar(density, 0.9997, 200, units);
      EXPECT_LE(bar.paper, 200 * (1 + 1e-9)) << density;
      EXPECT_GE(bar.paper, 200 * 0.4 - 1e-6) << density;
      EXPECT_NEAR(bar.marks.back() * bar.unit_m, bar.ground_m, 1e-9 * bar.ground_m);
      EXPECT_DOUBLE_EQ(bar.marks.front(), 0);
    }
  }
}

TEST(ScaleBar, ChoosesUnitsThatPeopleReadInThatCountry) {
  EXPECT_EQ(scale_bar(1, 1, 200, UnitSystem::metric).unit, "m");
  EXPECT_EQ(scale_bar(0.01, 1, 200, UnitSystem::metric).unit, "km");
  EXPECT_EQ(scale_bar(1, 1, 200, UnitSystem::us).unit, "ft");
  EXPECT_EQ(scale_bar(0.01, 1, 200, UnitSystem::us).unit, "mi");
  // 1 ft is 0.3048 m (international foot, NIST SP 811).
  EXPECT_DOUBLE_EQ(scale_bar(1, 1, 200, UnitSystem::us).ground_m, 500 * 0.3048);
}

TEST(RoundDenominator, IsNotBelowWhatIsNeeded) {
  EXPECT_DOUBLE_EQ(round_denominator(1430), 1500);
  EXPECT_DOUBLE_EQ(round_denominator(1500), 1500);
  EXPECT_DOUBLE_EQ(round_denominator(7600), 10000);
  for (double needed = 90; needed < 1e5; needed *= 1.13) {
    EXPECT_GE(round_denominator(needed), needed * (1 - 1e-8));
    EXPECT_LE(round_denominator(needed), needed * 1.51);
  }
}

}  // namespace
}  // namespace evendrip
