// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/season_crop.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "evendrip/simulate/truth.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

TEST(SeasonDays, ShareTheCropsWaterBetweenRainAndIrrigation) {
  SeasonPlan plan;
  plan.share_irrigated = 0.6;
  double rain = 0;
  double et = 0;
  for (const WaterDay& day : season_days(plan)) {
    rain += day.rain_mm;
    et += day.crop_et_mm;
  }
  EXPECT_NEAR(rain / et, 0.4, 1e-12);
}

TEST(SeasonDays, WaterOnTheirDaysAlone) {
  SeasonPlan plan;
  plan.watered_every_days = 3;
  const auto days = season_days(plan);
  ASSERT_EQ(days.size(), 110U);
  double applied = 0;
  for (std::size_t i = 0; i < days.size(); ++i) {
    if (i % 3 != 0) {
      EXPECT_EQ(days[i].irrigation_mm, 0) << i;
    }
    applied += days[i].irrigation_mm;
  }
  EXPECT_GT(applied, 100);
}

TEST(SeasonDays, LoseNoWater) {
  const SeasonPlan plan;
  auto days = season_days(plan);
  for (WaterDay& day : days) day.irrigation_mm *= 0.6;
  const RootZone zone = season_root_zone(plan, 120);
  EXPECT_NEAR(total_available_mm(zone), 120 * 0.8 * 0.4, 1e-9);
  double in = 0;
  double out = 0;
  const auto ends = water_balance(zone, 10, days);
  for (std::size_t i = 0; i < days.size(); ++i) {
    in += days[i].rain_mm + days[i].irrigation_mm;
    out += ends[i].et_mm + ends[i].percolation_mm;
  }
  EXPECT_NEAR(in - out, 10 - ends.back().depletion_mm, 1e-9);
}

TEST(SeasonYield, RisesWithDeliveryAndFlattensWhereNeedIsMet) {
  SeasonPlan plan;
  const auto days = season_days(plan);
  const auto yield = [&](double delivery) { return season_yield(plan, days, 145, delivery); };
  EXPECT_LT(yield(0.3), yield(0.5));
  EXPECT_LT(yield(0.5), yield(0.7));
  EXPECT_LT(yield(0.7), yield(0.9));
  EXPECT_GT(yield(1.0), 0.95);
  EXPECT_GT(yield(0.9) - yield(0.7), 4 * (yield(1.5) - yield(1.3)));
}

TEST(SeasonYield, SuffersMoreOnSoilThatHoldsLess) {
  SeasonPlan plan;
  const auto days = season_days(plan);
  EXPECT_LT(season_yield(plan, days, 90, 0.8), season_yield(plan, days, 200, 0.8));
}

TEST(SaturatingIndex, KeepsBareAndFullAndFlattensBetween) {
  EXPECT_EQ(saturating_index(0, 2), 0);
  EXPECT_DOUBLE_EQ(saturating_index(1, 2), 1);
  EXPECT_EQ(saturating_index(0.7, 0), 0.7);
  EXPECT_GT(saturating_index(0.7, 2), 0.7);
  EXPECT_GT(saturating_index(0.7, 3), saturating_index(0.7, 2));
}

TEST(SeasonCrop, IsLowWhereEmittersGiveLittleAndNotElsewhere) {
  SimulationPlan plan = test::even_plan();
  plan.zones = 1;
  plan.faults = {{"Z1", 1, 4, 0, "clogging", 0.4, 0, 0.5, "laterals"}};
  plan.soil_sd = 0;
  const SimulatedField field = simulated_truth(plan);
  SoilMapPlan one_soil;
  one_soil.units = 1;
  one_soil.patches = 0;
  one_soil.unit_factor = {1, 1};
  Extent ground;
  ground.include(Point{-30, -6});
  ground.include(Point{30, 6});
  const SoilMap soil(one_soil, ground);
  SeasonPlan season;
  const Raster crop = season_crop(field, soil, SoilPattern(field), season, 0.5);
  const auto at = [&](const Raster& raster, double along_m, double across_m) {
    const Cell cell = cell_of(raster.grid, {along_m, across_m});
    return static_cast<double>(raster.values[raster.grid.index(cell.row, cell.column)]);
  };
  const double starved = at(crop, 0, field.laterals[1].across_m);
  const double fed = at(crop, 0, field.laterals[6].across_m);
  EXPECT_LT(starved, fed - 0.15);
  EXPECT_NEAR(at(crop, 0, field.zones[0].across_max_m + 3), 0.3, 1e-6);
  season.follows_the_water = 0;
  const Raster careless = season_crop(field, soil, SoilPattern(field), season, 0.5);
  EXPECT_NEAR(at(careless, 0, field.laterals[1].across_m),
              at(careless, 0, field.laterals[6].across_m), 1e-6);
}

TEST(SeasonDays, RefuseWhatIsNoSeason) {
  SeasonPlan plan;
  plan.days = 0;
  EXPECT_THROW(season_days(plan), std::invalid_argument);
  plan.days = 10;
  plan.watered_every_days = 0;
  EXPECT_THROW(season_days(plan), std::invalid_argument);
  plan.watered_every_days = 1;
  plan.share_irrigated = 1.1;
  EXPECT_THROW(season_days(plan), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
