// SPDX-License-Identifier: Apache-2.0
#include "../../src/hydraulics/heights.hpp"

#include "evendrip/base/random.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <random>
#include <vector>

namespace evendrip {
namespace {

Raster raster_of(const std::function<double(Point)>& height) {
  Raster raster(Grid{100, 300, 5, 20, 16});
  for (int row = 0; row < 16; ++row)
    for (int column = 0; column < 20; ++column)
      raster.set(raster.grid.index(row, column), height(raster.grid.centre(row, column)));
  return raster;
}

double slope(Point p) {
  return 0.01 * p.x - 0.02 * p.y;
}

/// Normal noise of standard deviation sd, the same every time.
std::vector<double> noise(std::size_t count, double sd) {
  std::mt19937_64 stream = item_stream(5, {count});
  std::vector<double> values(count);
  for (double& value : values) {
    const double u = (static_cast<double>(stream() >> 11U) + 1) * 0x1.0p-53;
    const double turn = static_cast<double>(stream() >> 11U) * 0x1.0p-53;
    value = sd * std::sqrt(-2 * std::log(u)) * std::cos(2 * std::numbers::pi * turn);
  }
  return values;
}

TEST(NearestHeight, IsNothingWhereNoCellHasAValue) {
  const Raster raster = raster_of([](Point) { return 7.0; });
  EXPECT_DOUBLE_EQ(*nearest_height(raster, {0, 0}), 7);
  EXPECT_FALSE(nearest_height(Raster(raster.grid), {120, 280}));
}

TEST(NearestHeight, ComesFromTheNearestCell) {
  const Raster raster = raster_of([](Point p) { return p.x; });
  EXPECT_DOUBLE_EQ(*nearest_height(raster, {300, 250}), 197.5);
  EXPECT_DOUBLE_EQ(*nearest_height(raster, {20, 250}), 102.5);
}

TEST(HeightOutliers, AreFoundOnASteepSlope) {
  Raster raster = raster_of([](Point p) { return 10 * slope(p); });
  EXPECT_TRUE(height_outliers(raster).empty());
  raster.set(raster.grid.index(6, 7), raster.values[raster.grid.index(6, 7)] + 12);
  raster.set(raster.grid.index(9, 12), raster.values[raster.grid.index(9, 12)] - 3);
  const auto outliers = height_outliers(raster);
  ASSERT_EQ(outliers.size(), 2U);
  EXPECT_EQ(outliers[0].cell, (Cell{6, 7}));
  EXPECT_NEAR(outliers[0].off_m, 12, 1e-4);
  EXPECT_EQ(outliers[1].cell, (Cell{9, 12}));
  EXPECT_NEAR(outliers[1].off_m, -3, 1e-4);
}

TEST(HeightOutliers, AreJudgedByTheRoughnessOfTheGround) {
  const std::vector<double> rough = noise(320, 1.0);
  std::size_t i = 0;
  Raster raster = raster_of([&](Point) { return rough[i++]; });
  const auto calm = height_outliers(raster);
  raster.set(raster.grid.index(6, 7), 3);  // would stand out on smooth ground
  EXPECT_EQ(height_outliers(raster).size(), calm.size());
  raster.set(raster.grid.index(6, 7), 30);
  EXPECT_EQ(height_outliers(raster).size(), calm.size() + 1);
}

std::vector<double> stations(std::size_t count, double step) {
  std::vector<double> all(count);
  for (std::size_t i = 0; i < count; ++i) all[i] = step * static_cast<double>(i);
  return all;
}

TEST(LocalLine, IsExactOnAStraightLineUpToItsEnds) {
  const std::vector<double> at = stations(41, 5);
  std::vector<double> values;
  for (const double s : at) values.push_back(50 - 0.013 * s);
  const LocalLine line(at, values, 15);
  for (const double s : {0.0, 2.3, 97.0, 199.99, 200.0})
    EXPECT_NEAR(line.at(s), 50 - 0.013 * s, 1e-9);
  EXPECT_NEAR(line.sd(), 0, 1e-9);
}

TEST(LocalLine, PassesByAnOutlier) {
  const std::vector<double> at = stations(101, 1);
  std::vector<double> values = noise(101, 0.02);
  for (std::size_t i = 0; i < 101; ++i) values[i] += 0.01 * at[i];
  values[50] += 0.9;
  const LocalLine line(at, values, 10);
  EXPECT_NEAR(line.at(50), 0.5, 0.02);
}

TEST(LocalLine, KnowsHowWellItKnows) {
  const std::vector<double> at = stations(20001, 1);
  const std::vector<double> values = noise(20001, 0.1);
  const LocalLine line(at, values, 10);
  double squares = 0;
  for (const double s : at) squares += line.at(s) * line.at(s);
  const double real = std::sqrt(squares / 20001);
  EXPECT_LT(real, 0.05);  // smoother than the samples
  EXPECT_NEAR(line.sd(), real, 0.1 * real);
}

}  // namespace
}  // namespace evendrip
