// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_holes.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

#include "drawn_zone.hpp"

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

TEST(PluggedHoles, AreFoundAndDoNotBendTheMap) {
  double with = 0;
  double without = 0;
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    test::DrawnZone zone = test::drawn_zone(truth(), seed);
    const auto sound =
        zone_condition(ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges), 0.75);
    zone.holes[3].value = 0;
    zone.holes[10].value = 0.2;
    const auto found =
        zone_condition(ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges), 0.75);
    ASSERT_TRUE(sound && found);
    for (std::size_t i = 0; i < zone.holes.size(); ++i) {
      if (i == 3 || i == 10) {
        EXPECT_GT(found->plugged[i], 0.95) << i;
      } else {
        EXPECT_LT(found->plugged[i], 0.3) << i;
      }
    }
    EXPECT_NEAR(found->plugged_share, 2.5 / (24 + 10), 0.02);
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
  const auto found = zone_condition(ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges), 0.75);
  ASSERT_TRUE(found);
  double plugged = 0;
  for (std::size_t i = 0; i < zone.holes.size(); ++i)
    if (zone.holes[i].row == row) plugged += found->plugged[i];
  EXPECT_LT(plugged, 0.5);
  const auto middle = static_cast<std::size_t>(row * zone.grid.stations() + 6);
  EXPECT_NEAR(found->estimate.r[middle], zone.r[middle] - 0.5, 0.1);
}

TEST(PluggedHoles, TakeTheirShareFromWhatPlantsGet) {
  const test::DrawnZone zone = test::drawn_zone(truth(), 5);
  const auto found = zone_condition(ZoneModel(zone.grid, zone.holes, {}, zone.ranges), 0.75);
  ASSERT_TRUE(found);
  for (std::size_t i = 0; i < found->delivered.size(); ++i)
    EXPECT_NEAR(found->delivered[i], found->estimate.r[i] * (1 - found->plugged_share), 1e-12);
  EXPECT_THROW(zone_condition(ZoneModel(zone.grid, {}, {}, zone.ranges), 0), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
