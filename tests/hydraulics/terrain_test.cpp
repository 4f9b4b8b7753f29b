// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/terrain.hpp"

#include "evendrip/base/work.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/io/raster_file.hpp"
#include "own_folder.hpp"
#include "small_zone.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <filesystem>
#include <functional>

namespace evendrip {
namespace {

using invented_zone::count_of;
using invented_zone::first_of;

constexpr double west = 500'000;
constexpr double south = 4'200'000;

/// The invented zone, moved to the central meridian of UTM 14N.
Field field_in_utm() {
  Field field = invented_zone::field_of({.laterals = 20, .length_m = 200});
  field.crs = parse_crs("EPSG:32614");
  const auto move = [](Line& line) {
    for (Point& p : line) p = {p.x + west, p.y + south};
  };
  for (Zone& zone : field.zones) move(zone.area[0].outer);
  for (Lateral& lateral : field.laterals) move(lateral.line);
  for (Manifold& manifold : field.manifolds) move(manifold.line);
  return field;
}

FileRef written(const std::string& name, const Grid& grid, const Crs& crs,
                const std::function<double(Point)>& height, const std::string& unit = "m") {
  const FileRef file{test::own_folder() / name, "", name};
  Raster raster(grid);
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column)
      raster.set(grid.index(row, column), height(grid.centre(row, column)));
  GeotiffWriter writer(file.path, grid, crs, {{{"elevation", unit}}, {}, 256});
  writer.write({0, 0, grid.rows, grid.columns}, std::span(&raster, 1));
  writer.finish(Work{});
  return file;
}

double sloping(Point p) {
  return 300 + 0.01 * (p.y - south) - 0.02 * (p.x - west);
}

const std::vector<double> stations{0, 12.5, 100, 187.3, 200};

TEST(Terrain, WithoutARasterIsLevelAndSaysSoOnce) {
  const Field field = field_in_utm();
  const Terrain terrain(field);
  EXPECT_FALSE(terrain.known());
  EXPECT_EQ(terrain.at({west, south}), 0);
  Doubts doubts;
  EXPECT_EQ(terrain.along(field.laterals[0].line, stations, doubts).elevation_m,
            std::vector<double>(5, 0.0));
  terrain.along(field.laterals[1].line, stations, doubts);
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "no_elevation");
  EXPECT_EQ(doubts[0].place.layer, "[layers] elevation");
}

TEST(Terrain, FollowsASlopeAtAnyCell) {
  Field field = field_in_utm();
  for (const double cell : {1.0, 5.0, 20.0}) {
    const Grid grid = grid_over(extent_of(field.zones[0].area).grown(100), cell);
    field.elevation = written("slope.tif", grid, field.crs, sloping);
    const Terrain terrain(field);
    EXPECT_TRUE(terrain.known());
    Doubts doubts;
    const ElevationProfile profile = terrain.along(field.laterals[5].line, stations, doubts);
    for (std::size_t i = 0; i < stations.size(); ++i)
      EXPECT_NEAR(profile.elevation_m[i], sloping({west + 8.25, south + stations[i]}), 2e-4);
    EXPECT_LT(profile.sd_m, 1e-3);
    EXPECT_TRUE(doubts.empty());
    EXPECT_NEAR(terrain.at({west + 10, south + 50}), sloping({west + 10, south + 50}), 2e-4);
  }
}

TEST(Terrain, ReadsARasterInAnotherCrs) {
  Field field = field_in_utm();
  const Crs other = parse_crs("EPSG:32613");  // six degrees to the west
  const Transform there(field.crs, other);
  const Transform back(other, field.crs);
  Extent extent;
  for (const Point p : field.zones[0].area[0].outer) extent.include(there(p));
  field.elevation = written("other_crs.tif", grid_over(extent.grown(100), 5), other,
                            [&](Point p) { return sloping(back(p)); });
  const Terrain terrain(field);
  Doubts doubts;
  const ElevationProfile profile = terrain.along(field.laterals[5].line, stations, doubts);
  for (std::size_t i = 0; i < stations.size(); ++i)
    // Turned grids widen the warp's filter: a shift of less than a tenth of a cell.
    EXPECT_NEAR(profile.elevation_m[i], sloping({west + 8.25, south + stations[i]}), 0.011);
  EXPECT_TRUE(doubts.empty());
}

TEST(Terrain, CountsStationsOnTheGround) {
  Field field = field_in_utm();
  field.elevation = written("ground.tif", grid_over(extent_of(field.zones[0].area).grown(100), 5),
                            field.crs, sloping);
  field.scale_factor = 0.9;  // 200 m of grid are 222.2 m of ground
  const Terrain terrain(field);
  Doubts doubts;
  const auto heights = terrain.along(field.laterals[0].line, {0, 200}, doubts).elevation_m;
  EXPECT_NEAR(heights[1] - heights[0], 0.01 * 180, 1e-3);
}

TEST(Terrain, LeavesOutAHeightOffItsNeighboursAndTellsWhere) {
  Field field = field_in_utm();
  const Grid grid = grid_over(extent_of(field.zones[0].area).grown(100), 5);
  const Point tree{west + 7.5, south + 102.5};
  field.layer_files = {{"elevation", "tree.tif"}};
  field.elevation = written("tree.tif", grid, field.crs, [&](Point p) {
    return sloping(p) + (std::hypot(p.x - tree.x, p.y - tree.y) < 1 ? 9 : 0);
  });
  const Terrain terrain(field);
  Doubts doubts;
  const ElevationProfile profile = terrain.along(field.laterals[4].line, {102.5}, doubts);
  terrain.along(field.laterals[5].line, {102.5}, doubts);
  EXPECT_NEAR(profile.elevation_m[0], sloping({west + 6.75, south + 102.5}), 0.02);
  ASSERT_EQ(count_of(doubts, "elevation_outlier"), 1U);
  const Doubt& doubt = *first_of(doubts, "elevation_outlier");
  EXPECT_EQ(doubt.place.file, "tree.tif");
  EXPECT_EQ(doubt.found, "+9.0 m");
  EXPECT_THAT(doubt.text, testing::HasSubstr("500007.5 E, 4200102.5 N"));
}

TEST(Terrain, TakesTheNearestHeightBesideTheRasterAndTellsIt) {
  Field field = field_in_utm();
  Extent half = extent_of(field.zones[0].area);
  half.y_max = south + 100;
  field.elevation = written("half.tif", grid_over(half, 5), field.crs,
                            [](Point p) { return 0.01 * (p.y - south); });
  const Terrain terrain(field);
  Doubts doubts;
  const auto heights = terrain.along(field.laterals[5].line, {20, 180}, doubts).elevation_m;
  EXPECT_NEAR(heights[0], 0.2, 0.01);
  EXPECT_NEAR(heights[1], 0.975, 0.01);  // the middle of the last row
  EXPECT_EQ(count_of(doubts, "elevation_gap"), 1U);
}

TEST(Terrain, TurnsFeetIntoMetres) {
  Field field = field_in_utm();
  const Grid grid = grid_over(extent_of(field.zones[0].area).grown(100), 5);
  const auto read = [&](const std::string& unit, Doubts& doubts) {
    field.elevation = written(
        "unit.tif", grid, field.crs, [](Point) { return 1000.0; }, unit);
    return Terrain(field).along(field.laterals[0].line, {10}, doubts).elevation_m[0];
  };
  Doubts doubts;
  EXPECT_NEAR(read("ft", doubts), 304.8, 1e-3);
  EXPECT_NEAR(read("US survey foot", doubts), 304.8006, 1e-3);
  EXPECT_NEAR(read("", doubts), 1000, 1e-3);
  EXPECT_TRUE(doubts.empty());
  field.stated_crs = parse_crs("EPSG:2277");
  EXPECT_NEAR(read("", doubts), 1000, 1e-3);
  EXPECT_EQ(count_of(doubts, "elevation_unit_not_known"), 1U);
  EXPECT_NEAR(read("furlong", doubts), 1000, 1e-3);
  EXPECT_NEAR(read("metre", doubts), 1000, 1e-3);
}

TEST(Terrain, RefusesARasterOfElsewhere) {
  Field field = field_in_utm();
  field.elevation = written("elsewhere.tif", grid_over(Extent{0, 0, 100, 100}.grown(1), 5),
                            field.crs, [](Point) { return 1.0; });
  EXPECT_THROW(Terrain{field}, InputError);
}

}  // namespace
}  // namespace evendrip
