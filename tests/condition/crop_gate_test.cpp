// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/crop_gate.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "drawn_zone.hpp"

namespace evendrip {
namespace {

ConditionParameters truth() {
  ConditionParameters p;
  p.along = 0.02;
  p.own = 0.12;
  p.group = 0.02;
  p.local = 1e-3;
  p.emitter = 0.03;
  p.soil_long = 0.05;
  p.crop_error = 0.03;
  return p;
}

TEST(CropGate, LetsACropSpeakThatFollowsTheWater) {
  int used = 0;
  double with = 0;
  double without = 0;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const test::DrawnZone zone = test::drawn_zone(truth(), seed);
    const auto judged = judge_zone(zone.grid, zone.holes, zone.crop, zone.ranges, 0.75);
    ASSERT_TRUE(judged);
    EXPECT_TRUE(judged->verified);
    used += judged->crop_used ? 1 : 0;
    with += judged->with_crop.rmse;
    without += judged->without_crop.rmse;
  }
  EXPECT_EQ(used, 4);
  EXPECT_LT(with, 0.6 * without);
}

TEST(CropGate, KeepsACropQuietThatSaysOtherThings) {
  // The crop of another zone: laterals stand out in it, but not those of this one.
  double chosen = 0;
  double alone = 0;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const test::DrawnZone zone = test::drawn_zone(truth(), seed);
    const test::DrawnZone other = test::drawn_zone(truth(), seed + 50);
    const auto judged = judge_zone(zone.grid, zone.holes, other.crop, zone.ranges, 0.75);
    const auto holes = judge_zone(zone.grid, zone.holes, {}, zone.ranges, 0.75);
    ASSERT_TRUE(judged && holes);
    chosen += test::rms_difference(judged->condition.estimate.r, zone.r);
    alone += test::rms_difference(holes->condition.estimate.r, zone.r);
  }
  EXPECT_LT(chosen, 1.05 * alone);
}

TEST(CropGate, DoesNotTrustACropThatNoHolesVerify) {
  const test::DrawnZone zone = test::drawn_zone(truth(), 1);
  const auto none = judge_zone(zone.grid, {}, zone.crop, zone.ranges, 0.75);
  ASSERT_TRUE(none);
  EXPECT_FALSE(none->verified);
  EXPECT_FALSE(none->crop_used);
  for (const double r : none->condition.estimate.r) EXPECT_NEAR(r, 1, 1e-9);
}

TEST(LeftOutScore, IsThatOfThePredictionFromTheOtherLaterals) {
  const test::DrawnZone zone = test::drawn_zone(truth(), 2);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const LeftOutScore score = laterals_left_out(model, truth(), {0.75, 0, 0, 0});
  std::vector<HoleDatum> others;
  for (const HoleDatum& hole : zone.holes)
    if (hole.row != zone.holes[0].row) others.push_back(hole);
  const auto estimate = ZoneModel(zone.grid, others, zone.crop, zone.ranges).estimate(truth());
  ASSERT_TRUE(estimate);
  const HoleDatum& first = zone.holes[0];
  const auto segment = static_cast<std::size_t>(first.row * zone.grid.stations() + first.station);
  const double variance = estimate->r_variance[segment] + 0.03 * 0.03 + first.noise_variance;
  const double error = first.value - estimate->r[segment];
  EXPECT_NEAR(score.log_scores[0],
              0.5 * (std::log(2 * 3.14159265358979 * variance) + error * error / variance), 1e-5);
  EXPECT_NEAR(score.holes, static_cast<double>(zone.holes.size()), 1e-12);
}

TEST(LeftOutScore, CountsNoHoleAndStaysWholeWhereTheEquationsCannotBeSolved) {
  const test::DrawnZone zone = test::drawn_zone({}, 1);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  ConditionParameters none;
  none.own = std::nan("");
  const LeftOutScore score = laterals_left_out(model, none, {});
  EXPECT_EQ(score.holes, 0);
  EXPECT_EQ(score.log_scores.size(), zone.holes.size());
  EXPECT_EQ(gain_of(zone.holes, score, score).mean, 0);
}

}  // namespace
}  // namespace evendrip
