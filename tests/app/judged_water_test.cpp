// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/judged_water.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <memory>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

Grid row_of(int columns) {
  Grid grid;
  grid.rows = 1;
  grid.columns = columns;
  grid.cell_m = 1;
  return grid;
}

/// NaN: too few measurements.
std::shared_ptr<const RasterReader> row(const std::vector<double>& values) {
  Raster raster(row_of(static_cast<int>(values.size())), Reason::too_few);
  for (std::size_t i = 0; i < values.size(); ++i)
    if (values[i] == values[i]) raster.set(i, values[i]);
  return reader_of(std::move(raster));
}

constexpr double none = std::numeric_limits<double>::quiet_NaN();

TEST(JudgedWater, IsTheDeliveryWhereItWasJudgedAndTheSurfaceElsewhere) {
  const JudgedWater water =
      judged_water(row({0.5, none, 0.9}), row({0.8, 0.7, none}), row({1.6, 1.4, none}));
  const Window all{0, 0, 1, 3};
  const Raster relative = water.relative->read(all);
  EXPECT_FLOAT_EQ(relative.values[0], 0.5F);
  EXPECT_FLOAT_EQ(relative.values[1], 0.7F);
  EXPECT_FLOAT_EQ(relative.values[2], 0.9F);
  const Raster discharge = water.discharge_lph->read(all);
  EXPECT_FLOAT_EQ(discharge.values[0], 1.0F);  // the reference there is 2 L/h
  EXPECT_FLOAT_EQ(discharge.values[1], 1.4F);
  EXPECT_FALSE(discharge.has_value(2));  // no reference is known
}

TEST(JudgedWater, IsTheSurfaceWhereNothingWasJudged) {
  const JudgedWater water = judged_water(nullptr, row({0.8, none}), row({1.6, none}));
  const Window all{0, 0, 1, 2};
  EXPECT_FLOAT_EQ(water.relative->read(all).values[0], 0.8F);
  EXPECT_FLOAT_EQ(water.discharge_lph->read(all).values[0], 1.6F);
  EXPECT_FALSE(water.relative->read(all).has_value(1));
}

TEST(JudgedWater, RefusesRastersOfDifferentGrids) {
  EXPECT_THROW(judged_water(nullptr, row({1}), row({1, 1})), std::invalid_argument);
  EXPECT_THROW(judged_water(row({1, 1}), row({1}), row({1})), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
