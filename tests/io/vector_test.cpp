// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/vector.hpp"

#include <cmath>

#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::code_of;
using test::fresh_folder;
using test::problems_of;
using test::put;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

std::string collection(const std::string& features) {
  return "{\"type\":\"FeatureCollection\",\"features\":[" + features + "]}";
}

std::string feature(const std::string& geometry, const std::string& properties = "{}") {
  return "{\"type\":\"Feature\",\"properties\":" + properties + ",\"geometry\":" + geometry + "}";
}

FileRef geojson(const fs::path& folder, const std::string& features) {
  return {put(folder / "l.geojson", collection(features)), "", "l.geojson"};
}

TEST(VectorLayer, ReadsShapesAndAttributesOfGeoJson) {
  const FileRef file = geojson(
      fresh_folder(),
      feature("{\"type\":\"Polygon\",\"coordinates\":[[[-99,38],[-98.9,38],[-98.9,38.1],[-99,38]],"
              "[[-98.95,38.02],[-98.93,38.02],[-98.93,38.04],[-98.95,38.02]]]}",
              "{\"ID\":\"Z1\",\"Area\":1.5,\"n\":3,\"none\":null}") +
          "," +
          feature("{\"type\":\"LineString\",\"coordinates\":[[-99,38,210],[-98.9,38,211]]}",
                  "{\"ID\":\" Z2 \"}"));
  const VectorLayer layer = read_vector(file);
  EXPECT_EQ(layer.crs.code, "EPSG:4326");
  ASSERT_EQ(layer.features.size(), 2U);
  const Feature& zone = layer.features[0];
  ASSERT_EQ(zone.polygons.size(), 1U);
  EXPECT_THAT(zone.polygons[0].outer,
              ElementsAre(Point{-99, 38}, Point{-98.9, 38}, Point{-98.9, 38.1}));
  EXPECT_EQ(zone.polygons[0].holes.size(), 1U);
  EXPECT_EQ(zone.attribute("id"), "Z1");
  EXPECT_EQ(zone.attribute("area"), "1.5");
  EXPECT_EQ(zone.attribute("n"), "3");
  EXPECT_EQ(zone.attribute("none"), "");
  EXPECT_EQ(zone.attribute("absent"), "");
  EXPECT_EQ(layer.features[1].number, 2U);
  EXPECT_EQ(layer.features[1].attribute("id"), "Z2");
  EXPECT_THAT(layer.features[1].lines, ElementsAre(ElementsAre(Point{-99, 38}, Point{-98.9, 38})));
  EXPECT_EQ(extent_of(layer).x_max, -98.9);
}

TEST(LayerTable, HoldsTheAttributesThatTheFeaturesWouldHave) {
  const FileRef file =
      geojson(fresh_folder(), feature("{\"type\":\"Point\",\"coordinates\":[-99,38]}",
                                      "{\"Flow_kg_s\":1.5,\"note\":\" wet \"}") +
                                  "," +
                                  feature("{\"type\":\"Point\",\"coordinates\":[-99,38.1]}",
                                          "{\"Flow_kg_s\":null,\"note\":\"\"}"));
  const LayerTable read = read_layer_table(file);
  const VectorLayer plain = read_vector(file);
  ASSERT_EQ(read.table.rows(), 2U);
  EXPECT_THAT(read.table.headings, ElementsAre("flow_kg_s", "note"));
  EXPECT_THAT(read.table.lines, ElementsAre(1U, 2U));
  for (std::size_t row = 0; row < 2; ++row) {
    EXPECT_EQ(read.layer.features[row].points, plain.features[row].points);
    EXPECT_TRUE(read.layer.features[row].attributes.empty());
    for (std::size_t c = 0; c < 2; ++c) {
      EXPECT_EQ(read.table.cell(row, c), plain.features[row].attribute(read.table.headings[c]));
    }
  }
  EXPECT_EQ(read.table.cell(0, 1), "wet");
}

TEST(VectorLayer, TakesMultiGeometriesAndCollectionsApart) {
  const FileRef file = geojson(
      fresh_folder(),
      feature("{\"type\":\"GeometryCollection\",\"geometries\":["
              "{\"type\":\"MultiPoint\",\"coordinates\":[[1,2],[3,4]]},"
              "{\"type\":\"MultiLineString\",\"coordinates\":[[[1,2],[3,4]],[[5,6],[7,8]]]},"
              "{\"type\":\"MultiPolygon\",\"coordinates\":[[[[0,0],[1,0],[1,1],[0,0]]],"
              "[[[2,2],[3,2],[3,3],[2,2]]]]}]}"));
  const VectorLayer layer = read_vector(file);
  ASSERT_EQ(layer.features.size(), 1U);
  EXPECT_EQ(layer.features[0].points.size(), 2U);
  EXPECT_EQ(layer.features[0].lines.size(), 2U);
  EXPECT_EQ(layer.features[0].polygons.size(), 2U);
}

/// The same two measured points and dates in each format that GDAL can write.
TEST(VectorLayer, ReadsTheSameFromEveryAllowedFormat) {
  const fs::path folder = fresh_folder();
  GDALAllRegister();
  for (const auto& [driver_name, file_name] :
       std::vector<std::pair<std::string, std::string>>{{"GPKG", "l.gpkg"},
                                                        {"ESRI Shapefile", "l.shp"},
                                                        {"FlatGeobuf", "l.fgb"},
                                                        {"GML", "l.gml"},
                                                        {"KML", "l.kml"},
                                                        {"GeoJSON", "l.geojson"}}) {
    {
      GDALDriver* driver = GetGDALDriverManager()->GetDriverByName(driver_name.c_str());
      ASSERT_NE(driver, nullptr) << driver_name;
      const GDALDatasetUniquePtr dataset(
          driver->Create((folder / file_name).c_str(), 0, 0, 0, GDT_Unknown, nullptr));
      OGRSpatialReference reference;
      reference.SetFromUserInput("EPSG:4326");
      reference.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
      OGRLayer* layer = dataset->CreateLayer("places", &reference, wkbPoint25D, nullptr);
      ASSERT_NE(layer, nullptr) << driver_name;
      OGRFieldDefn id("id", OFTString);
      layer->CreateField(&id);
      for (const auto& [name, x] :
           std::vector<std::pair<std::string, double>>{{"P1", -99.25}, {"P2", -99.5}}) {
        const OGRFeatureUniquePtr row(OGRFeature::CreateFeature(layer->GetLayerDefn()));
        row->SetField("id", name.c_str());
        const OGRPoint place(x, 38.5, 200);
        row->SetGeometry(&place);
        ASSERT_EQ(layer->CreateFeature(row.get()), OGRERR_NONE);
      }
    }
    const VectorLayer layer = read_vector({folder / file_name, "", file_name});
    ASSERT_EQ(layer.features.size(), 2U) << driver_name;
    EXPECT_THAT(layer.features[1].points, ElementsAre(Point{-99.5, 38.5})) << driver_name;
    EXPECT_EQ(layer.features[1].attribute("id"), "P2") << driver_name;
    EXPECT_TRUE(layer.crs.geographic) << driver_name;
  }
}

TEST(VectorLayer, ReadsPointsOfATableWithLatAndLon) {
  const fs::path file = put(fresh_folder() / "p.csv", "id,lat,lon\nA,38.5,-99.25\n");
  const VectorLayer layer = read_vector({file, "", "p.csv"});
  EXPECT_THAT(layer.features[0].points, ElementsAre(Point{-99.25, 38.5}));
  EXPECT_TRUE(layer.crs.geographic);
  EXPECT_EQ(layer.features[0].attribute("id"), "A");
}

TEST(VectorLayer, LeavesNothingBesideTheFileItReads) {
  const fs::path folder = fresh_folder();
  const std::string gml =
      "<?xml version=\"1.0\"?><f:c xmlns:f=\"http://example.org/f\" "
      "xmlns:gml=\"http://www.opengis.net/gml\"><gml:featureMember><f:spot><f:id>A</f:id>"
      "<f:g><gml:Point><gml:coordinates>1,2</gml:coordinates></gml:Point></f:g></f:spot>"
      "</gml:featureMember></f:c>";
  const VectorLayer layer = read_vector({put(folder / "l.gml", gml), "", "l.gml"});
  EXPECT_THAT(layer.features[0].points, ElementsAre(Point{1, 2}));
  EXPECT_EQ(std::distance(fs::directory_iterator(folder), fs::directory_iterator()), 1);
}

TEST(VectorLayer, AsksForALayerWhereThereAreSeveralAndListsThem) {
  const fs::path file = fresh_folder() / "two.gpkg";
  GDALAllRegister();
  {
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
    const GDALDatasetUniquePtr dataset(driver->Create(file.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
    for (const char* name : {"zones", "laterals"}) {
      OGRLayer* layer = dataset->CreateLayer(name, nullptr, wkbPoint, nullptr);
      const OGRFeatureUniquePtr row(OGRFeature::CreateFeature(layer->GetLayerDefn()));
      const OGRPoint place(1, 2);
      row->SetGeometry(&place);
      ASSERT_EQ(layer->CreateFeature(row.get()), OGRERR_NONE);
    }
  }
  const Doubts unnamed = problems_of([&] { read_vector({file, "", "two.gpkg"}); });
  ASSERT_EQ(unnamed.size(), 1U);
  EXPECT_EQ(unnamed[0].code, "layer_not_named");
  EXPECT_EQ(unnamed[0].found, "zones, laterals");
  const Doubts wrong = problems_of([&] { read_vector({file, "zone", "two.gpkg|zone"}); });
  ASSERT_EQ(wrong.size(), 1U);
  EXPECT_EQ(wrong[0].code, "no_such_layer");
  EXPECT_THAT(wrong[0].expected, HasSubstr("zones, laterals"));
  EXPECT_EQ(read_vector({file, "laterals", "two.gpkg|laterals"}).layer, "laterals");
}

TEST(VectorLayer, RefusesFilesThatNameOtherFilesAndFilesThatAreNoLayer) {
  const fs::path folder = fresh_folder();
  geojson(folder, feature("{\"type\":\"Point\",\"coordinates\":[1,2]}"));
  put(folder / "l.vrt",
      "<OGRVRTDataSource><OGRVRTLayer name=\"l\"><SrcDataSource relativeToVRT=\"1\">l.geojson"
      "</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>");
  put(folder / "disguised.geojson",
      "<OGRVRTDataSource><OGRVRTLayer name=\"l\"><SrcDataSource relativeToVRT=\"1\">l.geojson"
      "</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>");
  put(folder / "text.geojson", "hello");
  put(folder / "empty.geojson", "");
  put(folder / "cut.geojson", "{\"type\":\"FeatureCollection\",\"features\":[{\"type\":");
  ::testing::internal::CaptureStderr();
  for (const auto& [name, code] :
       std::vector<std::pair<std::string, std::string>>{{"l.vrt", "driver_not_allowed"},
                                                        {"disguised.geojson", "driver_not_allowed"},
                                                        {"text.geojson", "unreadable_file"},
                                                        {"empty.geojson", "unreadable_file"},
                                                        {"cut.geojson", "unreadable_file"}}) {
    const Doubts problems = problems_of([&, file = name] {
      read_vector({folder / file, "", file});
    });
    ASSERT_EQ(problems.size(), 1U) << name;
    EXPECT_EQ(problems[0].code, code) << name;
    EXPECT_THAT(problems[0].text, Not(HasSubstr(folder.string()))) << name;
  }
  EXPECT_EQ(::testing::internal::GetCapturedStderr(), "");
}

TEST(VectorLayer, RefusesLayersWithoutFeaturesOrShapes) {
  const fs::path folder = fresh_folder();
  EXPECT_EQ(code_of([&] { read_vector(geojson(folder, "")); }), "no_features");
  EXPECT_EQ(code_of([&] { read_vector(geojson(folder, feature("null"))); }), "no_shapes");
}

TEST(VectorLayer, ListsEveryFeatureWithCoordinatesThatAreNotFinite) {
  const fs::path file = fresh_folder() / "p.gpkg";
  GDALAllRegister();
  CPLPushErrorHandler(CPLQuietErrorHandler);  // the writer does not like what it is to write
  {
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
    const GDALDatasetUniquePtr dataset(driver->Create(file.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
    OGRLayer* layer = dataset->CreateLayer("p", nullptr, wkbLineString, nullptr);
    for (const double x : {1.0, std::nan(""), HUGE_VAL}) {
      const OGRFeatureUniquePtr row(OGRFeature::CreateFeature(layer->GetLayerDefn()));
      OGRLineString line;
      line.addPoint(0, 0);
      line.addPoint(x, 2);
      row->SetGeometry(&line);
      ASSERT_EQ(layer->CreateFeature(row.get()), OGRERR_NONE);
    }
  }
  CPLPopErrorHandler();
  const Doubts problems = problems_of([&] { read_vector({file, "", "p.gpkg"}); });
  ASSERT_EQ(problems.size(), 2U);
  EXPECT_EQ(problems[0].code, "coordinate_not_finite");
  EXPECT_EQ(problems[0].place.row, 2U);
  EXPECT_EQ(problems[1].place.row, 3U);
}

}  // namespace
}  // namespace evendrip
