// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_holes.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <optional>
#include <random>
#include <stdexcept>

#include "drawn_zone.hpp"
#include "faulty_field.hpp"
#include "outlined_zone.hpp"

namespace evendrip {
namespace {

ConditionParameters truth() {
  ConditionParameters p;
  p.along = 0.02;
  p.own = 0.06;
  p.group = 0.02;
  p.local = 1e-3;
  p.emitter = 0.04;
  p.soil_long = 0.06;
  p.crop_error = 0.04;
  return p;
}

std::optional<ZoneCondition> condition_of(const test::DrawnZone& zone) {
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  return zone_condition(model, 0.75);
}

TEST(PluggedHoles, AreFoundAndDoNotBendTheMap) {
  double with = 0;
  double without = 0;
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    test::DrawnZone zone = test::drawn_zone(truth(), seed);
    const auto sound = condition_of(zone);
    zone.holes[3].value = 0;
    zone.holes[10].value = 0.2;
    const auto found = condition_of(zone);
    ASSERT_TRUE(sound && found);
    for (std::size_t i = 0; i < zone.holes.size(); ++i) {
      if (i == 3 || i == 10) {
        EXPECT_GT(found->plugged[i], 0.95) << i;
      } else {
        EXPECT_LT(found->plugged[i], 0.3) << i;
      }
    }
    EXPECT_NEAR(found->plugged_share, 2.1 / (24 + 10), 0.02);
    with += test::rms_difference(found->estimate.r, zone.r);
    without += test::rms_difference(sound->estimate.r, zone.r);
  }
  EXPECT_LT(with, 1.25 * without);
}

TEST(PluggedHoles, AreNotSeenWhereAWholeLateralIsStarved) {
  // All holes of one lateral are low, and the crop is low along it: that is no plugged emitter.
  test::DrawnZone zone = test::drawn_zone(truth(), 4);
  const int row = 5;
  for (HoleDatum& hole : zone.holes)
    if (hole.row == row) hole.value -= 0.5;
  for (int station = 0; station < zone.grid.stations(); ++station)
    zone.crop[static_cast<std::size_t>(row * zone.grid.stations() + station)].value -= 0.4;
  const auto found = condition_of(zone);
  ASSERT_TRUE(found);
  double plugged = 0;
  for (std::size_t i = 0; i < zone.holes.size(); ++i)
    if (zone.holes[i].row == row) plugged += found->plugged[i];
  EXPECT_LT(plugged, 0.5);
  const auto middle = static_cast<std::size_t>(row * zone.grid.stations() + 6);
  EXPECT_NEAR(found->estimate.r[middle], zone.r[middle] - 0.5, 0.1);
}

TEST(PluggedHoles, TakeTheirShareFromWhatPlantsGet) {
  test::DrawnZone zone = test::drawn_zone(truth(), 5);
  zone.crop.clear();
  const auto found = condition_of(zone);
  ASSERT_TRUE(found);
  for (std::size_t i = 0; i < found->delivered.size(); ++i)
    EXPECT_NEAR(found->delivered[i], found->estimate.r[i] * (1 - found->plugged_share), 1e-12);
  ZoneModel nothing(zone.grid, {}, {}, zone.ranges);
  EXPECT_THROW(zone_condition(nothing, 0), std::invalid_argument);
}

TEST(PluggedHoles, DoNotHideThatTheFarEndFalls) {
  // Towards the end emitters are plugged or clogged each to its own extent, a few hardly touched.
  test::DrawnZone zone = test::drawn_zone(truth(), 6);
  zone.crop.clear();
  const int stations = zone.grid.stations();
  constexpr std::array<double, 4> caught = {0.05, 0.8, 0.4, 0.6};
  std::size_t dug = 0;
  for (HoleDatum& hole : zone.holes)
    if (hole.station >= 2 * stations / 3) hole.value = caught[dug++ % caught.size()];
  ASSERT_GE(dug, 4U);
  const auto found = condition_of(zone);
  ASSERT_TRUE(found);
  double head = 0;
  double end = 0;
  for (int row = 0; row < zone.grid.rows(); ++row) {
    head += found->estimate.r[static_cast<std::size_t>(zone.grid.segment(row, 1))];
    end += found->estimate.r[static_cast<std::size_t>(zone.grid.segment(row, stations - 2))];
  }
  EXPECT_LT(end / zone.grid.rows(), head / zone.grid.rows() - 0.15);
}

// Five emitters of one lateral caught alike, and those of two others from somewhere on: their
// places are as low as they are, not half as low with emitters that vary there.
TEST(ZoneCondition, BelievesEmittersOfAPlaceThatAgree) {
  test::DrawnZone zone = test::bare_zone(test::small_grid(12, 12));
  constexpr std::array<double, 5> off = {0.01, -0.02, 0.02, -0.01, 0.0};
  for (const int row : {0, 2, 4, 6, 8, 10})
    for (int k = 0; k < 5; ++k) {
      const bool low = row == 4 || (row >= 8 && k >= 2);
      const double caught = (low ? 0.6 : 1) + off[static_cast<std::size_t>((row + k) % 5)];
      zone.holes.push_back({row, 1 + 2 * k, caught, 0.02 * 0.02});
    }
  const auto found = condition_of(zone);
  ASSERT_TRUE(found);
  const auto at = [&](int row, int station) {
    return found->estimate.r[static_cast<std::size_t>(zone.grid.segment(row, station))];
  };
  for (int station = 1; station < 10; ++station) {
    EXPECT_NEAR(at(4, station), 0.6, 0.05);
    EXPECT_NEAR(at(2, station), 1, 0.06);
  }
  EXPECT_NEAR(at(8, 1), 1, 0.08);
  EXPECT_NEAR(at(8, 8), 0.6, 0.06);
}

// Four emitters of one lateral gave about 0.37, those of seven others about 1: no crop, no network.
TEST(ZoneCondition, BelievesALateralWhoseHolesAreAllVeryLow) {
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    std::mt19937_64 stream(seed);
    std::normal_distribution<double> emitter(1, 0.04);
    test::DrawnZone zone = test::bare_zone();
    for (int row = 1; row < 24; row += 3)
      for (int station = 1; station < 12; station += 3)
        zone.holes.push_back({row, station, (row == 10 ? 0.37 : 1) * emitter(stream), 0.02 * 0.02});
    zone.holes[5].value = 0.1;  // one plugged emitter elsewhere
    const auto found = condition_of(zone);
    ASSERT_TRUE(found);
    const auto r = [&](int row) {
      return found->estimate.r[static_cast<std::size_t>(zone.grid.segment(row, 5))];
    };
    EXPECT_LT(r(10), 0.6) << seed;
    EXPECT_GT(r(4), 0.9) << seed;
    EXPECT_GT(found->plugged[5], 0.9) << seed;
    for (const std::size_t i : {12U, 13U, 14U, 15U}) EXPECT_LT(found->plugged[i], 0.5) << seed;
  }
}

// Sediment: the far ends of all three laterals that were dug give nothing, all else is sound.
TEST(ZoneCondition, BelievesFarEndsThatGiveNothing) {
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    std::mt19937_64 stream(seed);
    std::normal_distribution<double> emitter(1, 0.04);
    test::DrawnZone zone = test::bare_zone();
    const int last = zone.grid.stations() - 1;
    for (const int row : {3, 11, 20})
      for (const int station : {1, 4, 6, last - row % 2})
        zone.holes.push_back({row, station, station > 6 ? 0 : emitter(stream), 0.02 * 0.02});
    const auto found = condition_of(zone);
    ASSERT_TRUE(found);
    for (const int row : {3, 7, 20}) {
      const auto delivered = [&](int station) {
        return found->delivered[static_cast<std::size_t>(zone.grid.segment(row, station))];
      };
      EXPECT_LT(delivered(last), 0.6) << seed << ' ' << row;
      EXPECT_NEAR(delivered(4), 1, 0.15) << seed << ' ' << row;
    }
  }
}

// A corner that gives little, which the crop outlines: soil with edges would explain the crop, and
// emitters plugged one by one the holes.
TEST(ZoneCondition, BelievesALowCornerThatTheCropOutlines) {
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const test::DrawnZone zone = test::outlined_zone(test::corner, 0.3, seed);
    ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    const auto found = zone_condition(model, 0.75);
    ASSERT_TRUE(found);
    ASSERT_EQ(found->patches.size(), 1U) << seed;
    EXPECT_EQ(found->patches[0].end_row, test::corner.end_row) << seed;
    EXPECT_NEAR(found->patches[0].from_m, test::corner.from_m, 2.5) << seed;
    EXPECT_LT(test::rms_difference(found->delivered, zone.r), 0.04) << seed;
  }
}

TEST(ZoneCondition, TakesForSoilWhatTheHolesDoNotShow) {
  SharpPatch poor = test::corner;
  poor.of_soil = true;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const test::DrawnZone zone = test::outlined_zone(poor, 0.5, seed);
    ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    const auto found = zone_condition(model, 0.75);
    ASSERT_TRUE(found);
    for (const SharpPatch& patch : found->patches) EXPECT_TRUE(patch.of_soil) << seed;
    EXPECT_LT(test::rms_difference(found->delivered, zone.r), 0.05) << seed;
  }
}

TEST(ZoneCondition, SeeksNoPatchWhereNoneIsAskedFor) {
  const test::DrawnZone zone = test::outlined_zone(test::corner, 0.3, 1);
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  model.set_patches({test::corner});
  const auto found = zone_condition(model, 0.75, {}, {}, PatchSearch::none);
  ASSERT_TRUE(found);
  EXPECT_TRUE(found->patches.empty());
  EXPECT_TRUE(model.patches().empty());
}

TEST(SetAsJudged, LeavesAnotherModelAsTheOneThatWasJudged) {
  test::DrawnZone zone = test::outlined_zone(test::corner, 0.3, 2);
  zone.holes[1].value = 0.1;  // plugged, elsewhere
  zone.holes[9].value = 0;
  ZoneModel judged(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto found = zone_condition(judged, 0.75);
  ASSERT_TRUE(found);
  ZoneModel other(zone.grid, zone.holes, zone.crop, zone.ranges);
  set_as_judged(other, *found);
  const auto wanted = judged.estimate(found->fit.parameters);
  const auto same = other.estimate(found->fit.parameters);
  ASSERT_TRUE(wanted && same);
  EXPECT_NEAR(same->log_likelihood, wanted->log_likelihood, 1e-9);
  for (std::size_t i = 0; i < wanted->r.size(); ++i) EXPECT_NEAR(same->r[i], wanted->r[i], 1e-9);
}

// Emitters of 0.05 on laterals that hardly differ: what holes differ by is theirs, or that of a few
// laterals from somewhere on, which so few holes do not tell from it. No place is told to have lost
// water to emitters that vary there.
TEST(ZoneCondition, LeavesTheirSpreadToTheEmitters) {
  for (std::uint64_t seed = 1000; seed < 1012; ++seed) {
    test::FaultyPlan plan;
    plan.seed = seed;
    plan.crop = false;
    const test::FaultyField zone = test::faulty_field(plan);
    ZoneModel model(zone.grid, zone.holes, {}, ranges_of(zone.grid, 1));
    const auto found = zone_condition(model, 0.75);
    ASSERT_TRUE(found) << seed;
    const double spread = std::hypot(found->fit.parameters.emitter, found->fit.parameters.local);
    EXPECT_GT(spread, 0.03) << seed;
    EXPECT_LT(spread, 0.08) << seed;
  }
}

}  // namespace
}  // namespace evendrip
