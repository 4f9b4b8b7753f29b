// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/bent_choice.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "drawn_zone.hpp"

namespace evendrip {
namespace {

/// Laterals that differ by a tenth and more, half of them above what the crop needs.
ConditionParameters wide_laterals() {
  ConditionParameters p;
  p.along = p.group = p.local = 0.01;
  p.own = 0.15;
  p.emitter = 0.03;
  p.soil_short = p.soil_long = 0.02;
  p.crop_error = 0.02;
  p.response = 0.9;
  return p;
}

test::DrawnZone zone_of(std::uint64_t seed, bool saturated) {
  const ConditionParameters p = wide_laterals();
  test::DrawnZone zone = test::drawn_zone(p, seed);
  if (!saturated) return zone;
  for (CropDatum& datum : zone.crop) {
    const double r = zone.r[static_cast<std::size_t>(datum.segments[0])];
    datum.value -= p.response * std::max(0.0, r - 1);
  }
  return zone;
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
