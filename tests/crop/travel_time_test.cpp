// SPDX-License-Identifier: Apache-2.0
// Delays are those of the invented machine (tests/crop/invented_harvest.hpp).
#include "../../src/crop/travel_time.hpp"

#include "invented_harvest.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>

#include <boost/random/normal_distribution.hpp>

namespace evendrip {
namespace {

using invented::append;
using invented::harvest;
using invented::Harvest;
using invented::HarvestPlan;
using invented::plain_field;
using ::testing::HasSubstr;

TravelTime travel_time_of(const HarvestLog& log, const CleaningSettings& settings = {}) {
  return clean(plain_field(), log, settings, {}).travel_time;
}

TEST(TravelTime, IsFoundWithinOneRecordForManySeedsAndMachines) {
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    HarvestPlan plan;
    plan.seed = seed;
    plan.travel_s = 5 + 2.0 * static_cast<double>(seed);
    plan.interval_s = seed % 3 == 0 ? 3 : static_cast<double>(seed % 3);
    const Harvest made = harvest(plan);
    const TravelTime travel = travel_time_of(made.log);
    EXPECT_TRUE(travel.estimated) << travel.why;
    EXPECT_NEAR(travel.used_s, made.delay_s, plan.interval_s) << "seed " << seed;
  }
}

TEST(TravelTime, IsFoundInASmallerFieldWithNoisierFlow) {
  HarvestPlan plan;
  plan.passes = 12;
  plan.length_m = 200;
  plan.noise = 0.08;
  plan.place_error_m = 0.5;
  const Harvest made = harvest(plan);
  const TravelTime travel = travel_time_of(made.log);
  EXPECT_TRUE(travel.estimated) << travel.why;
  EXPECT_NEAR(travel.used_s, made.delay_s, plan.interval_s);
}

TEST(TravelTime, IsBelowZeroForALogThatWasMovedTooFar) {
  HarvestPlan plan;
  plan.interval_s = 1;
  Harvest made = harvest(plan);
  // Moved by 18 records of 1 s where the delay is 13 s.
  HarvestLog& log = made.log;
  for (auto* values : {&log.mass_flow_kg_s, &log.yield_t_ha})
    std::rotate(values->begin(), values->begin() + 18, values->end());
  const TravelTime travel = travel_time_of(log);
  EXPECT_TRUE(travel.estimated) << travel.why;
  EXPECT_NEAR(travel.used_s, made.delay_s - 18, 1);
  EXPECT_THAT(travel.why, HasSubstr("already moved"));
}

TEST(TravelTime, CurveIsLeastAtTheTimeUsed) {
  const TravelTime travel = travel_time_of(harvest({}).log);
  ASSERT_EQ(travel.tried_s.size(), travel.disagreement.size());
  const auto least = std::min_element(travel.disagreement.begin(), travel.disagreement.end());
  const double at = travel.tried_s[static_cast<std::size_t>(least - travel.disagreement.begin())];
  EXPECT_NEAR(travel.used_s, at, 2);
  EXPECT_EQ(travel.tried_s.front(), -10);
  EXPECT_EQ(travel.tried_s.back(), 40);
}

TEST(TravelTime, CannotBeToldWhereYieldsAreAllAlike) {
  HarvestLog log = harvest({}).log;
  std::fill(log.yield_t_ha.begin(), log.yield_t_ha.end(), 8.0);
  std::fill(log.mass_flow_kg_s.begin(), log.mass_flow_kg_s.end(), 8.64);
  const CleanedLog cleaned = clean(plain_field(), log, {}, {});
  EXPECT_FALSE(cleaned.travel_time.estimated) << cleaned.travel_time.used_s;
  EXPECT_EQ(cleaned.travel_time.used_s, 0);
  EXPECT_THAT(cleaned.travel_time.why, HasSubstr("cannot be told"));
  ASSERT_EQ(cleaned.doubts.size(), 1U);
  EXPECT_EQ(cleaned.doubts[0].code, "travel_time_not_told");
}

TEST(TravelTime, IsToldByFillingAndEmptyingWhereTheCropIsEven) {
  HarvestPlan plan;
  plan.yield_t_ha = [](double, double) { return 8; };
  const Harvest made = harvest(plan);
  const TravelTime travel = travel_time_of(made.log);
  EXPECT_TRUE(travel.estimated) << travel.why;
  EXPECT_NEAR(travel.used_s, made.delay_s, plan.interval_s);
}

TEST(TravelTime, CannotBeToldFromYieldsWithoutAnyPattern) {
  int told = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    HarvestLog log = harvest({}).log;
    std::mt19937_64 stream = item_stream(seed, {});
    boost::random::normal_distribution<double> normal(8, 1.2);
    for (double& yield : log.yield_t_ha) yield = normal(stream);
    told += travel_time_of(log).estimated ? 1 : 0;
  }
  EXPECT_EQ(told, 0);
}

TEST(TravelTime, CannotBeToldFromASinglePass) {
  HarvestPlan plan;
  plan.passes = 1;
  const TravelTime travel = travel_time_of(harvest(plan).log);
  EXPECT_FALSE(travel.estimated);
  EXPECT_THAT(travel.why, HasSubstr("driven the other way"));
}

TEST(TravelTime, StatedIsUsedAsStatedBesideTheCurve) {
  CleaningSettings settings;
  settings.travel_time_s = 9;
  const TravelTime travel = travel_time_of(harvest({}).log, settings);
  EXPECT_EQ(travel.used_s, 9);
  EXPECT_FALSE(travel.estimated);
  EXPECT_FALSE(travel.tried_s.empty());
  EXPECT_THAT(travel.why, HasSubstr("as stated"));
}

TEST(TravelTime, IsThatOfEachMachineWhereTwoShareAFile) {
  HarvestPlan first;
  HarvestPlan second;
  second.travel_s = 18;
  second.passes = 20;
  const Harvest a = harvest(first);
  Harvest b = harvest(second);
  for (Point& place : b.log.places) place.x += 400;
  HarvestLog log = a.log;
  append(log, b.log, 1);
  log.machines = {"Otter", "Heron"};
  const CleanedLog cleaned = clean(plain_field(), log, {}, {});
  ASSERT_EQ(cleaned.travel_time_by_machine.size(), 2U);
  EXPECT_NEAR(cleaned.travel_time_by_machine[0].used_s, a.delay_s, 2);
  EXPECT_NEAR(cleaned.travel_time_by_machine[1].used_s, b.delay_s, 2);
  EXPECT_EQ(cleaned.travel_time.used_s, cleaned.travel_time_by_machine[0].used_s);
  EXPECT_THAT(cleaned.travel_time.why, HasSubstr("Otter"));
}

TEST(TravelTime, MovesEachRecordToThePlaceWhereItsGrainWasCut) {
  HarvestPlan plan;
  plan.noise = 0;
  plan.mixing_s = 0;
  plan.interval_s = 1;
  const Harvest made = harvest(plan);
  CleaningSettings settings;
  settings.travel_time_s = made.delay_s;
  const CleanedLog cleaned = clean(plain_field(), made.log, settings, {});
  double worst = 0;
  for (std::size_t i = 0; i < made.log.size(); ++i)
    if (cleaned.step[i] == SetAside::kept)
      worst = std::max(worst, std::abs(cleaned.yield_t_ha[i] - made.truth_t_ha[i]));
  // The surface bends by at most 0.008 t/ha over the 1.8 m of a record.
  EXPECT_LT(worst, 0.03);
}

}  // namespace
}  // namespace evendrip
