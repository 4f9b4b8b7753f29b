// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/raster.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

Raster counted(int rows, int columns) {
  Raster raster(Grid{0, static_cast<double>(rows), 1, columns, rows});
  for (std::size_t i = 0; i < raster.grid.cells(); ++i) raster.set(i, static_cast<double>(i));
  return raster;
}

TEST(Raster, SaysWhyACellHasNoValue) {
  Raster raster(Grid{0, 1, 1, 2, 1}, Reason::outside_zones);
  EXPECT_TRUE(std::isnan(raster.values[0]));
  EXPECT_EQ(raster.reasons[1], Reason::outside_zones);
  raster.set(1, 2.5);
  EXPECT_TRUE(raster.has_value(1));
  raster.clear(1, Reason::failed);
  EXPECT_TRUE(std::isnan(raster.values[1]));
  EXPECT_EQ(raster.reasons[1], Reason::failed);
}

TEST(ValueAt, IsExactOnASlope) {
  Raster raster(Grid{100, 300, 5, 20, 20});
  const auto slope = [](Point p) { return 3 + 0.25 * p.x - 0.125 * p.y; };
  for (int r = 0; r < 20; ++r)
    for (int c = 0; c < 20; ++c)
      raster.set(raster.grid.index(r, c), slope(raster.grid.centre(r, c)));
  for (const Point p : {Point{110, 290}, Point{143.2, 255.5}, Point{197, 223}})
    EXPECT_NEAR(*value_at(raster, p), slope(p), 1e-6);
}

TEST(ValueAt, LeansOnTheCellsThatHaveValues) {
  Raster raster(Grid{0, 4, 1, 4, 4});
  for (std::size_t i = 0; i < 16; ++i) raster.set(i, 7);
  raster.set(raster.grid.index(1, 1), 99);
  raster.clear(raster.grid.index(1, 1), Reason::source_nodata);
  EXPECT_DOUBLE_EQ(*value_at(raster, {1.7, 2.2}), 7);
  EXPECT_DOUBLE_EQ(*value_at(raster, {-0.4, 4.4}), 7);
  EXPECT_FALSE(value_at(raster, {-0.6, 2}));
  EXPECT_FALSE(value_at(raster, {1.5, 2.5}));
}

TEST(ReaderOf, ReadsAnyWindowAndSaysNoSourceBeyondTheGrid) {
  const auto reader = reader_of(counted(4, 5));
  const Raster part = reader->read({1, 3, 2, 3});
  EXPECT_EQ(part.grid, (Grid{3, 3, 1, 3, 2}));
  EXPECT_EQ(part.values[0], 8.0F);
  EXPECT_EQ(part.values[4], 14.0F);
  EXPECT_EQ(part.reasons[2], Reason::no_source);
}

TEST(Overview, IsTheRasterItselfWhereItIsSmallEnough) {
  const Raster same = overview(*reader_of(counted(3, 4)), 4);
  EXPECT_EQ(same.values, counted(3, 4).values);
}

TEST(Overview, HoldsMeansOfTheCellsThatHaveValues) {
  Raster fine = counted(5, 4);
  fine.clear(0, Reason::source_nodata);
  for (const std::size_t i : {2U, 3U, 6U, 7U}) fine.clear(i, Reason::outside_zones);
  const Raster coarse = overview(*reader_of(fine), 3);
  EXPECT_EQ(coarse.grid, (Grid{0, 5, 2, 2, 3}));
  EXPECT_FLOAT_EQ(coarse.values[0], (1 + 4 + 5) / 3.0F);
  EXPECT_EQ(coarse.reasons[1], Reason::outside_zones);
  EXPECT_FLOAT_EQ(coarse.values[5], 18.5F);  // the last coarse row holds one fine row
}

TEST(Raster, HoldsAValueThatIsTooUncertainForAVerdictAndSaysSo) {
  Raster raster(Grid{0, 4, 1, 4, 4});
  for (std::size_t i = 0; i < raster.values.size(); ++i) raster.set(i, static_cast<double>(i));
  for (const std::size_t i : {0U, 1U, 4U}) raster.reasons[i] = Reason::too_uncertain;
  raster.reasons[2] = Reason::too_uncertain;
  EXPECT_TRUE(raster.has_value(0));
  const Raster coarse = overview(*reader_of(raster), 2);
  EXPECT_FLOAT_EQ(coarse.values[0], 2.5F);              // 0, 1, 4, 5
  EXPECT_EQ(coarse.reasons[0], Reason::too_uncertain);  // three of four
  EXPECT_EQ(coarse.reasons[1], Reason::value);          // one of four
}

}  // namespace
}  // namespace evendrip
