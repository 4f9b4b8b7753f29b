// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/emitter_crop.hpp"

#include "invented_field.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <memory>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

using invented::small_field;
using invented::small_grid;
using invented::south;
using invented::west;

std::unique_ptr<RasterReader> made(const Grid& grid, const std::function<double(Point)>& value) {
  Raster raster(grid);
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column)
      raster.set(grid.index(row, column), value(grid.centre(row, column)));
  return reader_of(std::move(raster));
}

Site on_lateral(const Field& field, int lateral, double station_m) {
  const Lateral& own = field.laterals[static_cast<std::size_t>(lateral)];
  return {{own.line.front().x, own.line.front().y + station_m}, lateral, station_m, own.zone};
}

TEST(StripLength, IsTheLargestOfSpacingRootZoneAndCell) {
  const Field field = small_field();  // laterals 2 m apart, emitters 0.5 m
  EXPECT_DOUBLE_EQ(strip_length_m(field, 0, 1), 2);
  EXPECT_DOUBLE_EQ(strip_length_m(field, 2, 1), 2);
  EXPECT_DOUBLE_EQ(strip_length_m(field, 6, 1), 3);
  EXPECT_DOUBLE_EQ(strip_length_m(field, 6, 5), 5);
  EXPECT_DOUBLE_EQ(strip_length_m(Field{}, 0, 1), 1);
}

TEST(CropAtSites, IsTheMeanOverThePieceOfStripWithExactShares) {
  const Field field = small_field();
  // Values grow to the north alone: the mean over 10 to 14 m, on 3 m cells whose edges lie at 9, 12
  // and 15 m, is that of two thirds of the lower cell's 3 m and the same of the upper.
  const auto map = made(small_grid(3), [](Point p) { return p.y - south; });
  const std::vector<Site> sites = {on_lateral(field, 3, 12)};
  const std::vector<double> crops = crop_at_sites(field, *map, sites, 4, {});
  ASSERT_EQ(crops.size(), 1U);
  EXPECT_NEAR(crops[0], 0.5 * (10.5 + 13.5), 1e-5);
  const std::vector<Site> off = {on_lateral(field, 3, 13)};  // 11 to 15 m
  EXPECT_NEAR(crop_at_sites(field, *map, off, 4, {})[0], 0.25 * 10.5 + 0.75 * 13.5, 1e-5);
}

TEST(CropAtSites, KeepsToTheStripOfItsOwnLateral) {
  const Field field = small_field();
  const auto map =
      made(small_grid(0.5), [](Point p) { return std::floor((p.x - west) / 2) == 4 ? 0.0 : 1.0; });
  const std::vector<Site> sites = {on_lateral(field, 4, 15), on_lateral(field, 5, 15)};
  const std::vector<double> crops = crop_at_sites(field, *map, sites, 2, {});
  EXPECT_NEAR(crops[0], 0, 1e-9);
  EXPECT_NEAR(crops[1], 1, 1e-9);
}

TEST(CropAtSites, IsCutAtTheEndsOfTheLateral) {
  const Field field = small_field();
  const auto map = made(small_grid(0.5), [](Point p) { return p.y - south; });
  const std::vector<Site> sites = {on_lateral(field, 0, 0.25), on_lateral(field, 0, 29.75)};
  const std::vector<double> crops = crop_at_sites(field, *map, sites, 4, {});
  // 2.25 m: four cells of half a metre and half of the fifth, each with the value of its middle.
  const double mean = (0.5 * (0.25 + 0.75 + 1.25 + 1.75) + 0.25 * 2.25) / 2.25;
  EXPECT_NEAR(crops[0], mean, 1e-5);
  EXPECT_NEAR(crops[1], 30 - mean, 1e-5);
}

TEST(CropAtSites, HasNoValueWhereLessThanHalfIsSeen) {
  const Field field = small_field();
  Raster raster = made(small_grid(0.5), [](Point) { return 1.0; })->read({0, 0, 60, 80});
  for (int row = 0; row < 60; ++row)
    for (int column = 0; column < 80; ++column)
      if (raster.grid.centre(row, column).y < south + 10)
        raster.clear(raster.grid.index(row, column), Reason::source_nodata);
  const auto map = reader_of(std::move(raster));
  const std::vector<Site> sites = {on_lateral(field, 0, 9.5), on_lateral(field, 0, 10.5)};
  const std::vector<double> crops = crop_at_sites(field, *map, sites, 4, {});
  EXPECT_TRUE(std::isnan(crops[0]));
  EXPECT_NEAR(crops[1], 1, 1e-9);
}

TEST(CropAtSites, TakesASquareAboutASiteWithoutLateral) {
  const Field field = small_field();
  const auto map = made(small_grid(0.5), [](Point p) { return p.y - south; });
  const std::vector<Site> sites = {{{west + 7, south + 12}, -1, 0, 0}};
  EXPECT_NEAR(crop_at_sites(field, *map, sites, 3, {})[0], 12, 1e-5);
  EXPECT_THROW(crop_at_sites(field, *map, sites, 0, {}), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
