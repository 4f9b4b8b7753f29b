// SPDX-License-Identifier: Apache-2.0
#include "../../src/crop/cut_width.hpp"

#include "invented_harvest.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <utility>

namespace evendrip {
namespace {

using invented::append;
using invented::harvest;
using invented::Harvest;
using invented::HarvestPlan;

CutWidths widths_of(const HarvestLog& log, const std::vector<char>& cuts) {
  return cut_widths(log, driven_log(log, 1), cuts, 1, {});
}

std::vector<char> header_down(const Harvest& made) {
  std::vector<char> cuts;
  for (const int pass : made.pass) cuts.push_back(pass >= 0 ? 1 : 0);
  return cuts;
}

/// Straight passes of records 2 m apart.
void drive(HarvestLog& log, Point from, Point to, double swath_m) {
  const double length = distance_m(from, to);
  const int records = static_cast<int>(length / 2);
  const double start = log.time_s.empty() ? 0 : log.time_s.back() + 100;
  for (int k = 0; k <= records; ++k) {
    const double share = 2 * k / length;
    log.places.push_back({from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)});
    log.time_s.push_back(start + k);
    log.duration_s.push_back(1);
    log.distance_m.push_back(2);
    log.swath_m.push_back(swath_m);
    log.yield_t_ha.push_back(8);
    log.machine.push_back(0);
  }
}

TEST(CutWidth, IsTheSwathWherePassesOnlyTouch) {
  HarvestPlan plan;
  plan.place_error_m = 0;
  const Harvest made = harvest(plan);
  const CutWidths widths = widths_of(made.log, header_down(made));
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (made.pass[i] < 0) {
      EXPECT_TRUE(std::isnan(widths.width_m[i]));
    } else {
      EXPECT_NEAR(widths.width_m[i], 6, 1e-6);
    }
  }
}

TEST(CutWidth, IsWhatOverlapsLeave) {
  HarvestPlan plan;
  plan.spacing_m = 4.5;
  plan.place_error_m = 0.02;
  const Harvest made = harvest(plan);
  const CutWidths widths = widths_of(made.log, header_down(made));
  EXPECT_EQ(widths.place_tolerance_m, 0);
  for (std::size_t i = 2; i + 2 < made.log.size(); ++i) {
    if (made.pass[i - 2] < 0 || made.pass[i - 2] != made.pass[i + 2]) continue;
    EXPECT_NEAR(widths.width_m[i], made.pass[i] == 0 ? 6 : 4.5, 0.15) << i;
  }
}

TEST(CutWidth, DoesNotTakeErrorsOfThePlacesForOverlaps) {
  HarvestPlan plan;
  plan.place_error_m = 0.3;
  const Harvest made = harvest(plan);
  const CutWidths widths = widths_of(made.log, header_down(made));
  std::size_t all = 0, whole = 0;
  for (std::size_t i = 0; i < made.log.size(); ++i) {
    if (made.pass[i] < 0) continue;
    ++all;
    whole += widths.width_m[i] > 5.99 ? 1U : 0U;
  }
  EXPECT_GT(widths.place_tolerance_m, 0.4);
  EXPECT_LT(widths.place_tolerance_m, 1.5);
  EXPECT_GT(static_cast<double>(whole), 0.97 * static_cast<double>(all));
}

TEST(CutWidth, IsNothingWhereAPassCrossesEarlierOnes) {
  HarvestLog log;
  drive(log, {0, 0}, {100, 0}, 6);
  drive(log, {100, 6}, {0, 6}, 6);
  drive(log, {50, -40}, {50, 40}, 6);
  const CutWidths widths = widths_of(log, std::vector<char>(log.size(), 1));
  for (std::size_t i = 104; i < log.size(); ++i) {
    const double middle = log.places[i].y - 1;
    const bool crossing = middle > 0 && middle < 6, free = middle < -9 || middle > 15;
    if (crossing || free) {
      EXPECT_NEAR(widths.width_m[i], crossing ? 0 : 6, 1e-9) << middle;
    }
  }
}

TEST(CutWidth, FollowsASlantedOverlap) {
  HarvestLog log;
  drive(log, {0, 0}, {0, 200}, 6);
  // From touching to 4 m of overlap.
  drive(log, {6, 0}, {2, 200}, 6);
  const CutWidths widths = widths_of(log, std::vector<char>(log.size(), 1));
  const double tolerance = widths.place_tolerance_m;
  for (std::size_t i = 105; i + 4 < log.size(); ++i) {
    const double overlap = 4 * (log.places[i].y - 1) / 200;
    if (overlap > tolerance + 0.2) {
      EXPECT_NEAR(widths.width_m[i], 6 - overlap, 0.1) << i;
    }
  }
}

TEST(CutWidth, IsNothingForTheCopyOfAPass) {
  HarvestLog log;
  drive(log, {0, 0}, {0, 100}, 6);
  const std::size_t once = log.size();
  append(log, HarvestLog(log), 0);
  const CutWidths widths = widths_of(log, std::vector<char>(log.size(), 1));
  for (std::size_t i = 0; i < once; ++i) EXPECT_NEAR(widths.width_m[i], 6, 1e-9);
  for (std::size_t i = once; i < log.size(); ++i) EXPECT_NEAR(widths.width_m[i], 0, 1e-9);
}

TEST(CutWidth, IsNoWiderThanLoggedAndNotCountedTwice) {
  HarvestLog log;
  drive(log, {0, 0}, {0, 100}, 6);
  const std::size_t once = log.size();
  // Half of the header over stubble, and half of its sections off because of that.
  drive(log, {3, 0}, {3, 100}, 3);
  const CutWidths widths = widths_of(log, std::vector<char>(log.size(), 1));
  for (std::size_t i = once; i < log.size(); ++i) EXPECT_NEAR(widths.width_m[i], 3, 1e-9);
}

}  // namespace
}  // namespace evendrip
