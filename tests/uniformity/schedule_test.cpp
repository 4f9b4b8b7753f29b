// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/schedule.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

using testing::Contains;
using testing::ElementsAre;

/// Ten emitters from 0.82 to 1.18 L/h, mean 1.
std::vector<double> ten_emitters() {
  std::vector<double> discharges;
  for (int i = 0; i < 10; ++i) discharges.push_back(0.82 + 0.04 * i);
  return discharges;
}

ScheduleFacts all_facts() {
  ScheduleFacts facts;
  facts.set_time_s = 6 * 3600;
  facts.interval_s = 2 * 86'400;
  facts.pulses = 3;
  facts.season_depth_mm = 480;
  facts.season_need_mm = 400;
  facts.emitter_ground_m2 = 0.75;
  return facts;
}

DepthResult depth_of_ten() {
  DepthOptions options;
  options.season_need_mm = 400;
  options.area_ha = 2;
  return depth_result(ten_emitters(), {}, options);
}

// Worked by hand: 1 L/h over 0.75 m2 is 4/3 mm/h; 6 h give 8 mm, 4 mm a day at one set in two days;
// 480 mm are 60 sets in 120 days.
TEST(Schedule, OfASeasonIsWorkedFromTheRate) {
  const Schedule schedule = schedule_of(depth_of_ten(), all_facts());
  EXPECT_NEAR(*schedule.rate_mm_h, 4.0 / 3, 1e-12);
  EXPECT_NEAR(*schedule.set_depth_mm, 8, 1e-12);
  EXPECT_NEAR(*schedule.pulse_time_s, 7200, 1e-9);
  EXPECT_NEAR(*schedule.pulse_depth_mm, 8.0 / 3, 1e-12);
  EXPECT_NEAR(*schedule.daily_depth_mm, 4, 1e-12);
  EXPECT_NEAR(*schedule.sets_in_season, 60, 1e-9);
  EXPECT_NEAR(*schedule.days_in_season, 120, 1e-9);
  EXPECT_NEAR(*schedule.applied_over_need, 1.2, 1e-12);
  EXPECT_TRUE(schedule.not_computed.empty());
}

// The lowest of ten gets 0.82 of the mean, the second 0.86: 90 % are served by 1/0.86 of the need,
// which is 400/0.86 = 465.1 mm, in sets of 6 h x 465.1/480 = 5.814 h.
TEST(Schedule, TellsTheSetThatServesAShareOfThePlants) {
  const Schedule schedule = schedule_of(depth_of_ten(), all_facts());
  bool seen = false;
  for (const ServingSet& set : schedule.serving) {
    if (set.model != DepthModel::empirical || set.served_frac != 0.90) continue;
    seen = true;
    EXPECT_NEAR(*set.season_depth_mm, 400 / 0.86, 1e-9);
    EXPECT_NEAR(*set.change_mm, 400 / 0.86 - 480, 1e-9);
    EXPECT_NEAR(*set.set_time_s, 6 * 3600 * 400 / 0.86 / 480, 1e-6);
  }
  EXPECT_TRUE(seen);
}

TEST(Schedule, SaysWhatItNeeds) {
  ScheduleFacts facts;
  facts.emitter_ground_m2 = 0.75;
  const Schedule schedule = schedule_of(depth_of_ten(), facts);
  EXPECT_TRUE(schedule.rate_mm_h.has_value());
  EXPECT_FALSE(schedule.set_depth_mm.has_value());
  EXPECT_FALSE(schedule.serving.front().set_time_s.has_value());
  EXPECT_THAT(schedule.not_computed, Contains("depth of a set: needs [irrigation] set_time"));
  EXPECT_THAT(schedule.not_computed,
              Contains("what the season's depth leaves short and applies in excess: needs "
                       "[irrigation] season_depth and [irrigation] season_net_need"));
  EXPECT_EQ(schedule.not_computed.size(), 5U);
}

TEST(Schedule, OfADrySampleIsItsReasonAlone) {
  const Schedule schedule =
      schedule_of(depth_result(std::vector<double>{0.0, 0.0}, {}), all_facts());
  EXPECT_THAT(schedule.not_computed,
              ElementsAre("what sets apply: no emitter gives water: no depth serves any plant"));
  EXPECT_FALSE(schedule.rate_mm_h.has_value());
}

TEST(Schedule, RefusesFactsThatCannotBe) {
  ScheduleFacts facts = all_facts();
  facts.set_time_s = 0;
  EXPECT_THROW(schedule_of(depth_of_ten(), facts), std::invalid_argument);
  facts = all_facts();
  facts.pulses = 0;
  EXPECT_THROW(schedule_of(depth_of_ten(), facts), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
