// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/soil_map.hpp"

#include <gtest/gtest.h>

#include <set>
#include <stdexcept>

namespace evendrip {
namespace {

Extent ground() {
  Extent extent;
  extent.include(Point{-60, -30});
  extent.include(Point{60, 30});
  return extent;
}

TEST(SoilMap, HasAllItsUnitsWithinTheirRanges) {
  SoilMapPlan plan;
  plan.units = 4;
  plan.patches = 0;
  const SoilMap soil(plan, ground());
  std::set<int> units;
  std::set<double> held;
  for (double x = -60; x <= 60; x += 1) {
    for (double y = -30; y <= 30; y += 1) {
      const SoilHere here = soil.at(x, y);
      units.insert(here.unit);
      held.insert(here.available_mm_m);
      EXPECT_GE(here.available_mm_m, plan.available_mm_m[0]);
      EXPECT_LE(here.available_mm_m, plan.available_mm_m[1]);
      EXPECT_GE(here.factor, plan.unit_factor[0]);
      EXPECT_LE(here.factor, plan.unit_factor[1]);
    }
  }
  EXPECT_EQ(held.size(), units.size());
  EXPECT_GT(units.size(), 1U);
}

TEST(SoilMap, LowersTheCropInPatchesAndNowhereElse) {
  SoilMapPlan without;
  without.patches = 0;
  SoilMapPlan with = without;
  with.patches = 3;
  const SoilMap plain(without, ground());
  const SoilMap patched(with, ground());
  int lower = 0;
  int same = 0;
  for (double x = -60; x <= 60; x += 1) {
    for (double y = -30; y <= 30; y += 1) {
      const SoilHere a = plain.at(x, y);
      const SoilHere b = patched.at(x, y);
      EXPECT_EQ(a.unit, b.unit);
      EXPECT_LE(b.factor, a.factor);
      EXPECT_LE(b.available_mm_m, a.available_mm_m);
      ++(b.factor < a.factor ? lower : same);
    }
  }
  // Three ellipses of half axes 4 to 15 m cover 150 to 2,121 of the 7,200 m2 unless they overlap or
  // lie over the edge.
  EXPECT_GT(lower, 20);
  EXPECT_LT(lower, 2200);
  EXPECT_GT(same, 4000);
}

TEST(SoilMap, KeepsAUnitWhenAnotherIsAdded) {
  // Each unit has a stream of its own: the first stays where it was.
  SoilMapPlan one;
  one.units = 1;
  one.patches = 0;
  SoilMapPlan two = one;
  two.units = 2;
  const SoilMap first(one, ground());
  const SoilMap both(two, ground());
  bool found = false;
  for (double x = -60; x <= 60; x += 2) {
    for (double y = -30; y <= 30; y += 2) {
      const SoilHere here = both.at(x, y);
      if (here.unit != 0) continue;
      found = true;
      EXPECT_EQ(here.available_mm_m, first.at(x, y).available_mm_m);
      EXPECT_EQ(here.factor, first.at(x, y).factor);
    }
  }
  EXPECT_TRUE(found);
}

TEST(SoilMap, RefusesWhatIsNoMap) {
  SoilMapPlan plan;
  plan.units = 0;
  EXPECT_THROW(SoilMap(plan, ground()), std::invalid_argument);
  plan.units = 1;
  plan.patches = -1;
  EXPECT_THROW(SoilMap(plan, ground()), std::invalid_argument);
  plan.patches = 0;
  EXPECT_THROW(SoilMap(plan, Extent()), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
