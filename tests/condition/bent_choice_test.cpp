// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/bent_choice.hpp"

#include <gtest/gtest.h>

#include "bend_trials.hpp"

namespace evendrip {
namespace {

TEST(ChooseBend, BendsForACropThatTakesNoMoreThanItNeeds) {
  const test::BendTrials trials = test::bend_trials(1, 4, true);
  EXPECT_GE(trials.bent, 3);
  EXPECT_LT(trials.bent_error, trials.straight_error);
}

TEST(ChooseBend, StaysStraightForACropThatAnswersToAllWater) {
  EXPECT_LE(test::bend_trials(1, 4, false).bent, 1);
}

TEST(ChooseBend, HasNothingToBendWithoutCropOrWithoutHoles) {
  const test::DrawnZone zone = test::zone_to_bend(1, true);
  ZoneModel holes(zone.grid, zone.holes, {}, zone.ranges);
  auto condition = zone_condition(holes, 0.3);
  ASSERT_TRUE(condition);
  EXPECT_FALSE(choose_bend(holes, 0.3, *condition, {}));
}

}  // namespace
}  // namespace evendrip
