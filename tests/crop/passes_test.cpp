// SPDX-License-Identifier: Apache-2.0
#include "../../src/crop/passes.hpp"

#include "invented_harvest.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <set>

namespace evendrip {
namespace {

using invented::append;
using invented::harvest;
using invented::Harvest;
using invented::HarvestPlan;

HarvestPlan six_passes() {
  HarvestPlan plan;
  plan.passes = 6;
  return plan;
}

/// The records of a log in another order.
HarvestLog reordered(const HarvestLog& log, const std::vector<std::size_t>& order) {
  HarvestLog other = log;
  for (std::size_t k = 0; k < order.size(); ++k) {
    other.places[k] = log.places[order[k]];
    other.time_s[k] = log.time_s[order[k]];
    other.yield_t_ha[k] = log.yield_t_ha[order[k]];
  }
  return other;
}

TEST(Passes, HoldTheRecordsOfOneRunOverTheField) {
  const Harvest made = harvest(six_passes());
  const DrivenLog driven = driven_log(made.log, 1);
  std::map<int, std::map<int, int>> numbers;  // true pass, number: records
  for (std::size_t i = 0; i < made.log.size(); ++i)
    if (made.pass[i] >= 0) ++numbers[made.pass[i]][driven.pass[i]];
  ASSERT_EQ(numbers.size(), 6U);
  std::set<int> mains;
  for (const auto& [pass, found] : numbers) {
    const auto most =
        std::max_element(found.begin(), found.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; });
    // 83 records in 300 m at 3.6 m; a turn may claim one at an end.
    EXPECT_GE(most->second, 81) << pass;
    mains.insert(most->first);
  }
  EXPECT_EQ(mains.size(), 6U);
}

TEST(Passes, KnowStepIntervalSwathAndSpeed) {
  const DrivenLog driven = driven_log(harvest(six_passes()).log, 1);
  EXPECT_NEAR(driven.step_m, 3.6, 0.05);
  EXPECT_EQ(driven.interval_s, 2);
  EXPECT_EQ(driven.swath_m, 6);
  EXPECT_NEAR(driven.speed_m_s[20], 1.8, 1e-9);
}

TEST(Passes, HeadingsAreClockwiseFromNorth) {
  const Harvest made = harvest(six_passes());
  const DrivenLog driven = driven_log(made.log, 1);
  for (std::size_t i = 2; i + 2 < made.log.size(); ++i) {
    if (made.pass[i - 2] < 0 || made.pass[i - 2] != made.pass[i + 2]) continue;
    const double truth = made.pass[i] % 2 == 0 ? 0 : 180;
    EXPECT_LT(turn_deg(driven.heading_deg[i], truth), 5) << i;
  }
  EXPECT_NEAR(turn_deg(350, 20), 30, 1e-9);
  EXPECT_NEAR(turn_deg(90, 270), 180, 1e-9);
}

TEST(Passes, DoNotDependOnTheOrderOfTheFileWhereThereAreTimes) {
  const Harvest made = harvest(six_passes());
  std::vector<std::size_t> order(made.log.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return made.log.yield_t_ha[a] < made.log.yield_t_ha[b];
  });
  const DrivenLog driven = driven_log(made.log, 1);
  const DrivenLog other = driven_log(reordered(made.log, order), 1);
  ASSERT_EQ(other.passes, driven.passes);
  for (std::size_t k = 0; k < order.size(); ++k) ASSERT_EQ(other.pass[k], driven.pass[order[k]]);
}

TEST(Passes, EndAtAGapOfTimeAndWhereTheClockStartsAgain) {
  HarvestPlan plan;
  plan.passes = 1;
  Harvest made = harvest(plan);
  const int before = driven_log(made.log, 1).passes;
  HarvestLog paused = made.log;
  for (std::size_t i = 40; i < paused.size(); ++i) paused.time_s[i] += 60;
  EXPECT_EQ(driven_log(paused, 1).passes, before + 1);
  HarvestLog days = made.log;
  append(days, made.log, 0);
  const DrivenLog driven = driven_log(days, 1);
  EXPECT_EQ(driven.passes, 2 * before);
  EXPECT_LT(driven.pass[made.log.size() - 1], driven.pass[made.log.size()]);
}

TEST(Passes, OfTwoMachinesAreApartAndNumberedByTheirBeginnings) {
  const Harvest made = harvest(six_passes());
  HarvestLog log = made.log;
  append(log, made.log, 1);
  for (std::size_t i = made.log.size(); i < log.size(); ++i) log.places[i].x += 100;
  const DrivenLog driven = driven_log(log, 1);
  ASSERT_EQ(driven.machine.size(), 3U);
  for (std::size_t i = 0; i < made.log.size(); ++i)
    ASSERT_NE(driven.pass[i], driven.pass[i + made.log.size()]);
  std::vector<std::size_t> first(static_cast<std::size_t>(driven.passes), log.size());
  for (std::size_t i = 0; i < log.size(); ++i) {
    std::size_t& rank = first[static_cast<std::size_t>(driven.pass[i])];
    rank = std::min(rank, driven.rank[i]);
  }
  EXPECT_TRUE(std::is_sorted(first.begin(), first.end()));
}

TEST(Passes, AreSplitWhereTheHeaderWasUpForTwoRecords) {
  HarvestPlan plan;
  plan.passes = 1;
  const Harvest made = harvest(plan);
  DrivenLog driven = driven_log(made.log, 1);
  const int before = driven.passes;
  std::vector<char> lifted(made.log.size(), 0);
  lifted[20] = 1;
  split_where_lifted(driven, lifted);
  EXPECT_EQ(driven.passes, before);
  lifted[40] = lifted[41] = 1;
  split_where_lifted(driven, lifted);
  EXPECT_EQ(driven.passes, before + 1);
  EXPECT_EQ(driven.pass[39], driven.pass[41]);
  EXPECT_NE(driven.pass[39], driven.pass[42]);
}

TEST(Passes, TakeDistanceAndTimeFromPlacesAndClockWhereTheyAreNotLogged) {
  HarvestPlan plan = six_passes();
  plan.place_error_m = 0;
  const Harvest made = harvest(plan);
  HarvestLog log = made.log;
  log.distance_m.assign(log.size(), std::nan(""));
  log.duration_s.assign(log.size(), std::nan(""));
  const DrivenLog driven = driven_log(log, 0.9996);
  EXPECT_NEAR(driven.speed_m_s[20], 1.8 / 0.9996, 1e-6);
}

TEST(Passes, BridgeTimesThatAreMissingHereAndThere) {
  const Harvest made = harvest(six_passes());
  HarvestLog log = made.log;
  for (std::size_t i = 0; i < log.size(); i += 20) log.time_s[i] = std::nan("");
  const DrivenLog driven = driven_log(log, 1);
  ASSERT_TRUE(driven.has_clock());
  for (std::size_t i = 1; i + 1 < log.size(); ++i)
    ASSERT_NEAR(driven.clock_s[i], made.log.time_s[i], 1e-9);
  for (std::size_t i = 0; i < log.size(); i += 3) log.time_s[i] = std::nan("");
  log.duration_s.assign(log.size(), std::nan(""));
  EXPECT_FALSE(driven_log(log, 1).has_clock());
}

TEST(Passes, AddDurationsUpWhereThereAreNoTimes) {
  const Harvest made = harvest(six_passes());
  HarvestLog log = made.log;
  log.time_s.assign(log.size(), std::nan(""));
  const DrivenLog driven = driven_log(log, 1);
  EXPECT_EQ(driven.interval_s, 2);
  EXPECT_NEAR(driven.clock_s.back() - driven.clock_s.front(),
              made.log.time_s.back() - made.log.time_s.front(), 1e-6);
}

}  // namespace
}  // namespace evendrip
