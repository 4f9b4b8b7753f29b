// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/crop_sensing.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>

#include "evendrip/base/random.hpp"
#include "evendrip/simulate/system.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

Raster level(double value) {
  Extent extent;
  extent.include(Point{-36, -20});
  extent.include(Point{36, 20});
  Raster raster(grid_over(extent, 0.5));
  for (std::size_t i = 0; i < raster.grid.cells(); ++i) raster.set(i, value);
  return raster;
}

double at(const Raster& raster, double x, double y) {
  const Cell cell = cell_of(raster.grid, {x, y});
  return static_cast<double>(raster.values[raster.grid.index(cell.row, cell.column)]);
}

double sum_of(const Raster& raster) {
  double sum = 0;
  for (const float v : raster.values) sum += static_cast<double>(v);
  return sum;
}

SimulatedField one_zone() {
  SimulationPlan plan = test::even_plan();
  plan.zones = 1;
  return laid_out_field(plan);
}

TEST(Blur, KeepsTheSumAndSpreadsAsItSays) {
  Raster spot = level(0);
  const Cell cell = cell_of(spot.grid, {0, 0});
  spot.set(spot.grid.index(cell.row, cell.column), 1);
  const Raster out = blurred(spot, 1.5);
  EXPECT_NEAR(sum_of(out), 1, 1e-5);
  const Point middle = spot.grid.centre(cell.row, cell.column);
  double squares = 0;
  for (int row = 0; row < out.grid.rows; ++row)
    for (int column = 0; column < out.grid.columns; ++column)
      squares += static_cast<double>(out.values[out.grid.index(row, column)]) *
                 std::pow(out.grid.centre(row, column).x - middle.x, 2);
  EXPECT_NEAR(squares, 1.5 * 1.5, 0.01);
}

TEST(Blur, LeavesALevelCropLevelUpToItsLimits) {
  for (const float v : blurred(level(0.8), 3).values) EXPECT_NEAR(v, 0.8, 1e-6);
}

TEST(Blur, OfNothingChangesNothing) {
  const Raster before = level(0.7);
  EXPECT_EQ(blurred(before, 0).values, before.values);
}

TEST(Headland, LowersBothEndsOfTheLateralsAlone) {
  const Raster crop = with_headland(level(1), 60, 8, 0.8);
  EXPECT_NEAR(at(crop, -29, 0), 0.8, 1e-6);
  EXPECT_NEAR(at(crop, 29, 0), 0.8, 1e-6);
  EXPECT_EQ(at(crop, -21, 0), 1);
  EXPECT_EQ(at(crop, 21, 0), 1);
  EXPECT_EQ(at(crop, 33, 0), 1);
}

TEST(Stripes, RepeatAtTheirWidthAndKeepTheMean) {
  const CropStripes stripes{8, 0.1, 1};
  const Raster crop = with_stripes(level(1), stripes);
  for (double y = -11.75; y < 11; y += 0.5) EXPECT_EQ(at(crop, 0, y), at(crop, 10, y + 8)) << y;
  EXPECT_NEAR(at(crop, 0, 1.25), 1.1, 1e-6);
  EXPECT_NEAR(at(crop, 0, 5.25), 0.9, 1e-6);
  // 40 m hold five whole periods.
  EXPECT_NEAR(sum_of(crop) / static_cast<double>(crop.grid.cells()), 1, 1e-6);
}

TEST(Strip, LowersWhatLiesInItAlone) {
  const Raster crop = with_strip(level(1), 2, 5, 0.7);
  EXPECT_NEAR(at(crop, 0, 3), 0.7, 1e-6);
  EXPECT_EQ(at(crop, 0, 1.75), 1);
  EXPECT_EQ(at(crop, 0, 5.25), 1);
}

TEST(SensedRaster, ShowsAPlaceWhereTheShiftPutsIt) {
  const SimulatedField field = one_zone();
  const Raster ground = with_strip(level(1), -1, 1, 0.5);
  SensorPlan plan;
  plan.pixel_m = 0.5;
  plan.blur_m = 0;
  plan.noise_cv = 0;
  const Raster true_place = sensed_raster(field, ground, plan);
  EXPECT_LT(value_at(true_place, field.frame.to_grid(0, 0)).value(), 0.55);
  plan.shift_m = {3 * field.frame.across.x, 3 * field.frame.across.y};
  const Raster shifted = sensed_raster(field, ground, plan);
  EXPECT_LT(value_at(shifted, field.frame.to_grid(0, 3)).value(), 0.55);
  EXPECT_GT(value_at(shifted, field.frame.to_grid(0, 0)).value(), 0.95);
}

TEST(SensedRaster, HasTheNoiseOfThePlan) {
  SensorPlan plan;
  plan.noise_cv = 0.1;
  const Raster raster = sensed_raster(one_zone(), level(0.8), plan);
  double squares = 0;
  for (const float v : raster.values) squares += std::pow(static_cast<double>(v) / 0.8 - 1, 2);
  const auto n = static_cast<double>(raster.values.size());
  EXPECT_GT(n, 500);
  EXPECT_NEAR(std::sqrt(squares / n), 0.1, 4 * 0.1 / std::sqrt(2 * n));
}

TEST(SensedRaster, GivesEachPixelAStreamOfItsOwn) {
  // A pixel's noise follows from the seed and its own number.
  SensorPlan plan;
  plan.noise_cv = 0.1;
  const SimulatedField field = one_zone();
  const Raster one = sensed_raster(field, level(1), plan);
  const Raster half = sensed_raster(field, level(0.5), plan);
  for (std::size_t i = 0; i < one.values.size(); i += 17)
    EXPECT_NEAR(half.values[i], 0.5F * one.values[i], 1e-6) << i;
  plan.seed = 2;
  EXPECT_NE(sensed_raster(field, level(1), plan).values, one.values);
}

TEST(Harvest, CutsWholeSwathsThereAndBack) {
  const SimulatedField field = one_zone();
  HarvesterPlan plan;
  plan.swath_m = 4;
  plan.noise_cv = 0;
  const auto log = harvested(field, level(0.9), plan);
  // 8 lines at 1.5 m: 12 m, three passes; 60 m at 1.6 m a record: 37 records each.
  ASSERT_EQ(log.size(), 3U * 37U);
  for (const HarvestRecord& record : log) EXPECT_NEAR(record.value, 0.9, 1e-6);
  const double turn = std::abs(log[0].heading_deg - log[37].heading_deg);
  EXPECT_NEAR(turn, 180, 1e-6);
  const Point first = field.frame.from_grid(log[0].place);
  const Point next = field.frame.from_grid(log[1].place);
  EXPECT_NEAR(next.x - first.x, 1.6, 1e-6);
  EXPECT_NEAR(first.y, field.zones[0].across_min_m + 2, 1e-6);
}

TEST(Harvest, MixesAlongItsWayAndNotAcross) {
  const SimulatedField field = one_zone();
  // Low for the first half of the laterals.
  Raster ground = level(1);
  for (int row = 0; row < ground.grid.rows; ++row)
    for (int column = 0; column < ground.grid.columns; ++column)
      if (ground.grid.centre(row, column).x < 0) ground.set(ground.grid.index(row, column), 0.5);
  HarvesterPlan plan;
  plan.swath_m = 4;
  plan.noise_cv = 0;
  const auto log = harvested(field, ground, plan);
  double between = 0;
  for (std::size_t i = 0; i < 37; ++i) {
    const double along = field.frame.from_grid(log[i].place).x;
    if (along < -12) {
      EXPECT_NEAR(log[i].value, 0.5, 1e-3) << along;
    } else if (along > 12) {
      EXPECT_NEAR(log[i].value, 1, 1e-3) << along;
    } else if (log[i].value > 0.55 && log[i].value < 0.95) {
      ++between;
    }
  }
  // A bell of 3.2 m goes from 10 to 90 % within 8.2 m: five records of 1.6 m.
  EXPECT_GE(between, 4);
  EXPECT_LE(between, 7);
}

TEST(Harvest, StandsAheadByTheLagOnBothWays) {
  const SimulatedField field = one_zone();
  HarvesterPlan plan;
  plan.swath_m = 4;
  plan.noise_cv = 0;
  const auto right = harvested(field, level(1), plan);
  plan.lag_error_s = 2;
  const auto late = harvested(field, level(1), plan);
  EXPECT_NEAR(field.frame.from_grid(late[5].place).x - field.frame.from_grid(right[5].place).x, 3.2,
              1e-6);
  EXPECT_NEAR(field.frame.from_grid(late[42].place).x - field.frame.from_grid(right[42].place).x,
              -3.2, 1e-6);
}

}  // namespace
}  // namespace evendrip
