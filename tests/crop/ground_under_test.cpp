// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/ground_under.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>

#include "evendrip/crs/crs.hpp"
#include "evendrip/io/raster_file.hpp"

#include "own_folder.hpp"

namespace evendrip {
namespace {

constexpr double west = 500'000;
constexpr double south = 4'200'000;

MultiPolygon box(double left, double right) {
  const double x = west + left;
  const double end = west + right;
  return {{{{x, south}, {end, south}, {end, south + 100}, {x, south + 100}}, {}}};
}

/// 200 m of loam, sand and loam again, and a gap.
Field field_on_soils() {
  Field field;
  field.crs = parse_crs("EPSG:32614");
  field.zones.resize(1);
  field.zones[0].area = box(0, 200);
  field.soil = {{"loam", box(0, 60)}, {"sand", box(60, 110)}, {"loam", box(110, 170)}};
  return field;
}

FileRef sloping_raster() {
  const auto folder = test::own_folder();
  const FileRef file{folder / "elevation.tif", "", "elevation.tif"};
  const Grid grid{west - 20, south + 120, 2, 120, 70};
  Raster raster(grid);
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column)
      raster.set(grid.index(row, column), 300 + 0.05 * (grid.centre(row, column).x - west));
  GeotiffWriter writer(file.path, grid, parse_crs("EPSG:32614"), {{{"elevation", "m"}}, {}, 256});
  writer.write({0, 0, grid.rows, grid.columns}, std::span(&raster, 1));
  writer.finish(Work{});
  return file;
}

CropEvidence evidence_at(std::initializer_list<double> eastings) {
  CropEvidence evidence;
  for (const double x : eastings) {
    evidence.data.emplace_back();
    evidence.data.back().place = {west + x, south + 50};
  }
  return evidence;
}

TEST(SeeGround, FindsHeightAndSoilUnitOfEachDatum) {
  Field field = field_on_soils();
  field.elevation = sloping_raster();
  CropEvidence evidence = evidence_at({30, 80, 140, 190});
  see_ground(evidence, field, {});
  EXPECT_EQ(evidence.soil_units, (std::vector<std::string>{"loam", "sand"}));
  EXPECT_EQ(evidence.data[0].soil_unit, 0);
  EXPECT_EQ(evidence.data[1].soil_unit, 1);
  EXPECT_EQ(evidence.data[2].soil_unit, 0);
  EXPECT_EQ(evidence.data[3].soil_unit, -1);
  EXPECT_NEAR(evidence.data[0].elevation_m, 301.5, 0.02);
  EXPECT_NEAR(evidence.data[3].elevation_m, 309.5, 0.02);
}

TEST(SeeGround, FindsNothingWhereTheFolderKnowsNoGround) {
  Field field = field_on_soils();
  field.soil.clear();
  CropEvidence evidence = evidence_at({30});
  see_ground(evidence, field, {});
  EXPECT_TRUE(evidence.soil_units.empty());
  EXPECT_EQ(evidence.data[0].soil_unit, -1);
  EXPECT_TRUE(std::isnan(evidence.data[0].elevation_m));
}

}  // namespace
}  // namespace evendrip
