// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/crop_points.hpp"

#include "invented_field.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

namespace evendrip {
namespace {

using invented::crop_file;
using invented::small_field;

Doubts problems_of(const Field& field, const CropSource& source) {
  try {
    read_crop_points(field, source);
  } catch (const InputError& error) {
    return error.problems();
  }
  return {};
}

bool names_row(const Doubts& problems, std::size_t row, const std::string& column) {
  return std::any_of(problems.begin(), problems.end(), [&](const Doubt& problem) {
    return problem.place.row == row && problem.place.column == column;
  });
}

TEST(CropPoints, ReadLatitudeAndLongitude) {
  const Field field = small_field();
  const CropPoints points = read_crop_points(
      field, crop_file("lonlat.csv", "yield", "lat,lon,yield_t_ha\n39.7485,-99,8.25\n"));
  ASSERT_EQ(points.places.size(), 1U);
  const Point expected = Transform(wgs84(), field.crs)({-99, 39.7485});
  EXPECT_NEAR(distance_m(points.places[0], expected), 0, 1e-6);
  EXPECT_NEAR(points.places[0].x, 500'000, 1e-3);  // the central meridian of zone 14
  EXPECT_EQ(points.values[0], 8.25);
  EXPECT_EQ(points.unit, "t/ha");
  EXPECT_EQ(points.swath_m, 0);
}

TEST(CropPoints, ReadPlacesInTheStatedCrsInFeetAndYieldInPoundsPerAcre) {
  Field field = small_field();
  field.stated_crs = parse_crs("EPSG:2265");  // a state plane in feet
  field.crs = metric_twin(field.stated_crs);
  const CropPoints points = read_crop_points(
      field, crop_file("feet.csv", "yield", "x,y,yield_lb_ac\n1000,2000,8921.79\n"));
  ASSERT_EQ(points.places.size(), 1U);
  EXPECT_NEAR(points.places[0].x, 1000 * field.stated_crs.unit_to_metre, 1e-3);
  EXPECT_NEAR(points.places[0].y, 2000 * field.stated_crs.unit_to_metre, 1e-3);
  EXPECT_NEAR(points.values[0], 10, 1e-4);  // 1 t/ha = 892.179 lb/ac (NIST SP 811 factors)
}

constexpr const char* raw_log =
    "x;y;mass_flow_kg_s;duration_s;distance_m;swath_m;moisture_pct\n"
    "500001;4400001;5;1;2;6;20\n"
    "500003;4400001;5;2;2;6;15,5\n"
    "500005;4400001;5;1;0;6;20\n"
    "500007;4400001;5;1;2;8;\n";

TEST(CropPoints, TurnARawLogIntoYieldAtTheStatedMoisture) {
  CropSource source = crop_file("log.csv", "yield", raw_log);
  source.moisture_basis_frac = 0.155;
  const CropPoints points = read_crop_points(small_field(), source);
  ASSERT_EQ(points.values.size(), 2U);
  // 5 kg of grain with 4 kg dry matter on 12 m2: 4 / 0.845 / 12 kg/m2, ten times that in t/ha.
  EXPECT_NEAR(points.values[0], 10 * 4 / 0.845 / 12, 1e-12);
  EXPECT_NEAR(points.values[1], 10 * 10.0 / 12, 1e-12);
  EXPECT_EQ(points.swath_m, 6);
  EXPECT_NE(points.method_text.find("15.5 %"), std::string::npos);
}

TEST(CropPoints, GiveDryMatterWithoutAStatedMoisture) {
  const CropPoints points = read_crop_points(small_field(), crop_file("dry.csv", "yield", raw_log));
  EXPECT_NEAR(points.values[0], 10 * 4.0 / 12, 1e-12);
  EXPECT_NE(points.method_text.find("dry matter"), std::string::npos);
}

TEST(CropPoints, SetRowsWithoutHarvestedAreaAsideAndSayHowMany) {
  const CropPoints points =
      read_crop_points(small_field(), crop_file("aside.csv", "yield", raw_log));
  EXPECT_EQ(points.set_aside, 2U);
  const auto told = std::find_if(points.doubts.begin(), points.doubts.end(),
                                 [](const Doubt& d) { return d.code == "rows_set_aside"; });
  ASSERT_NE(told, points.doubts.end());
  EXPECT_EQ(told->place.row, 4U);
}

TEST(CropPoints, TellALogWithoutMoisture) {
  const CropPoints points = read_crop_points(
      small_field(), crop_file("wet.csv", "yield",
                               "x,y,mass_flow_lb_s,duration_s,distance_ft,swath_ft\n"
                               "500001,4400001,10,1,5,20\n"));
  // 10 lb on 100 ft2: 0.1 lb/ft2 = 0.1 x 0.45359237 / 0.09290304 kg/m2
  EXPECT_NEAR(points.values[0], 4.88242764, 1e-6);
  ASSERT_EQ(points.doubts.size(), 1U);
  EXPECT_EQ(points.doubts[0].code, "moisture_not_stated");
}

TEST(CropPoints, ListEveryBadValueWithItsRow) {
  const Doubts problems = problems_of(small_field(), crop_file("bad.csv", "yield",
                                                               "lat,lon,yield_t_ha\n"
                                                               "39.7485,-99,8\n"
                                                               "-99,39.7485,8\n"
                                                               "39.7485,-99,-1\n"
                                                               "39.7485,-99,high\n"
                                                               "39.7485,-199,8\n"));
  EXPECT_EQ(problems.size(), 4U);
  EXPECT_TRUE(names_row(problems, 3, "lat"));
  EXPECT_TRUE(names_row(problems, 4, "yield_t_ha"));
  EXPECT_TRUE(names_row(problems, 5, "yield_t_ha"));
  EXPECT_TRUE(names_row(problems, 6, "lon"));
}

TEST(CropPoints, RefuseMoistureOfAHundredPercent) {
  const Doubts problems = problems_of(
      small_field(), crop_file("moist.csv", "yield",
                               "x,y,mass_flow_kg_s,duration_s,distance_m,swath_m,moisture_pct\n"
                               "500001,4400001,5,1,2,6,100\n"));
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_TRUE(names_row(problems, 2, "moisture_pct"));
}

TEST(CropPoints, NameTheColumnThatIsMissing) {
  const Field field = small_field();
  Doubts problems = problems_of(field, crop_file("nowhere.csv", "yield", "yield_t_ha\n8\n"));
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "missing_column");
  problems = problems_of(field, crop_file("nothing.csv", "yield", "lat,lon\n39.7,-99\n"));
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "missing_column");
}

TEST(CropPoints, FollowTheColumnsMap) {
  Field field = small_field();
  field.columns = {{"Ertrag", "yield_t_ha"}, {"Breite", "lat"}, {"Laenge", "lon"}};
  const CropPoints points = read_crop_points(
      field, crop_file("german.csv", "yield", "Breite;Laenge;Ertrag\n39,7485;-99;7,5\n"));
  ASSERT_EQ(points.values.size(), 1U);
  EXPECT_EQ(points.values[0], 7.5);
}

constexpr const char* point_layer = R"({"type": "FeatureCollection", "features": [
  {"type": "Feature", "properties": {"Yield_t_ha": 8.5, "swath_m": 5},
   "geometry": {"type": "Point", "coordinates": [-99, 39.7485]}},
  {"type": "Feature", "properties": {"Yield_t_ha": -2, "swath_m": 5},
   "geometry": {"type": "Point", "coordinates": [-99, 39.7486]}}]})";

TEST(CropPoints, ReadAPointLayerByTheSameRules) {
  std::string good = point_layer;
  good.replace(good.find("-2"), 2, "9");
  const CropPoints points =
      read_crop_points(small_field(), crop_file("good.geojson", "yield", good));
  EXPECT_EQ(points.values, (std::vector<double>{8.5, 9}));
  EXPECT_NEAR(points.places[0].x, 500'000, 1e-3);
  EXPECT_EQ(points.swath_m, 5);
  const Doubts problems =
      problems_of(small_field(), crop_file("bad.geojson", "yield", point_layer));
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_TRUE(names_row(problems, 2, "yield_t_ha"));
}

TEST(CropPoints, ReadBiomassAndCanopyTemperatureToo) {
  const Field field = small_field();
  CropPoints points = read_crop_points(
      field, crop_file("index.csv", "biomass", "x,y,biomass\n500001,4400001,0.71\n"));
  EXPECT_EQ(points.values[0], 0.71);
  EXPECT_EQ(points.unit, "");
  points = read_crop_points(field, crop_file("canopy.csv", "canopy_temperature",
                                             "x,y,canopy_temperature_f\n500001,4400001,86\n"));
  EXPECT_NEAR(points.values[0], 30, 1e-9);
}

TEST(IsPointFile, TellsTablesAndLayersFromRasters) {
  CropSource source;
  for (const char* name : {"a.csv", "a.TXT", "a.geojson", "a.shp"}) {
    source.file.path = name;
    EXPECT_TRUE(is_point_file(source)) << name;
  }
  source.file.path = "a.tif";
  EXPECT_FALSE(is_point_file(source));
}

}  // namespace
}  // namespace evendrip
