// SPDX-License-Identifier: Apache-2.0
#include "../../src/crop/harvest_limit.hpp"

#include "invented_harvest.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace evendrip {
namespace {

using invented::harvest;
using invented::Harvest;
using invented::harvest_south;
using invented::harvest_west;
using invented::HarvestPlan;

TEST(HarvestLimit, IsAsFarFromRecordsOfARectangleAsItsSides) {
  const HarvestPlan plan;
  const Harvest made = harvest(plan);
  std::vector<char> cuts;
  for (const int pass : made.pass) cuts.push_back(pass >= 0 ? 1 : 0);
  const auto limit = harvest_limit(made.log, driven_log(made.log, 1), cuts, 6, {});
  ASSERT_TRUE(limit);
  EXPECT_LE(limit->cell_m, 0.8);
  const double east = (plan.passes - 1) * 6 + 3;
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (cuts[i] == 0) {
      EXPECT_TRUE(std::isnan(limit->inside_m[i]));
      continue;
    }
    const double x = made.log.places[i].x - harvest_west;
    const double y = made.log.places[i].y - harvest_south;
    // Where along the passes the first and last strips end is known to one record only.
    const double side = std::min(x + 3, east - x), end = std::min(y, plan.length_m - y);
    EXPECT_NEAR(limit->inside_m[i], std::min(side, end), end < side + 4 ? 4 : 1.5 * limit->cell_m)
        << x << " " << y;
  }
}

TEST(HarvestLimit, RunsAlsoAroundWhatWasLeftStandingInside) {
  const Harvest made = harvest({});
  std::vector<char> cuts;
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    const double x = made.log.places[i].x - harvest_west;
    const double y = made.log.places[i].y - harvest_south;
    const bool pond = x > 40 && x < 80 && y > 120 && y < 180;
    cuts.push_back(made.pass[i] >= 0 && !pond ? 1 : 0);
  }
  const auto limit = harvest_limit(made.log, driven_log(made.log, 1), cuts, 6, {});
  ASSERT_TRUE(limit);
  std::size_t beside = 0;
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (cuts[i] == 0) continue;
    const double x = made.log.places[i].x - harvest_west;
    const double y = made.log.places[i].y - harvest_south;
    if (x < 82 || x > 86 || y < 130 || y > 170) continue;
    ++beside;  // the pass at 84 m, whose strip ends at 81 m
    EXPECT_NEAR(limit->inside_m[i], 3, 1.5 * limit->cell_m);
  }
  EXPECT_GT(beside, 5U);
}

TEST(HarvestLimit, CannotBeToldOfRecordsScatteredOverACounty) {
  Harvest made = harvest({});
  made.log.places.back() = {harvest_west + 80'000, harvest_south + 80'000};
  const std::vector<char> cuts(made.log.size(), 1);
  EXPECT_FALSE(harvest_limit(made.log, driven_log(made.log, 1), cuts, 6, {}));
}

TEST(HarvestLimit, IsTheSameForTwoThreads) {
  const Harvest made = harvest({});
  const std::vector<char> cuts(made.log.size(), 1);
  const DrivenLog driven = driven_log(made.log, 1);
  Work two;
  two.threads = 2;
  EXPECT_EQ(harvest_limit(made.log, driven, cuts, 6, {})->inside_m,
            harvest_limit(made.log, driven, cuts, 6, two)->inside_m);
}

}  // namespace
}  // namespace evendrip
