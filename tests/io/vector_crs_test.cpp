// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/vector.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::code_of;
using test::fresh_folder;
using test::put;

std::string collection(const std::string& features) {
  return "{\"type\":\"FeatureCollection\",\"features\":[" + features + "]}";
}

std::string feature(const std::string& geometry, const std::string& properties = "{}") {
  return "{\"type\":\"Feature\",\"properties\":" + properties + ",\"geometry\":" + geometry + "}";
}

FileRef geojson(const fs::path& folder, const std::string& features) {
  return {put(folder / "l.geojson", collection(features)), "", "l.geojson"};
}

TEST(LayerInCrs, IsTransformedToTheCrsAskedFor) {
  Doubts doubts;
  const FileRef file =
      geojson(fresh_folder(), feature("{\"type\":\"Point\",\"coordinates\":[-99,0]}"));
  const VectorLayer layer = in_crs(read_vector(file), parse_crs("EPSG:32614"), {}, doubts);
  // The central meridian of UTM zone 14 meets the equator at 500 000 m east, 0 m north.
  EXPECT_NEAR(layer.features[0].points[0].x, 500000, 1e-6);
  EXPECT_NEAR(layer.features[0].points[0].y, 0, 1e-6);
  EXPECT_EQ(layer.crs.code, "EPSG:32614");
  EXPECT_TRUE(doubts.empty());
}

TEST(LayerInCrs, WithoutACrsNeedsOneToAssumeAndTellsIt) {
  const fs::path file = put(fresh_folder() / "p.csv", "id,x,y\nA,500000,4300000\n");
  const VectorLayer layer = read_vector({file, "", "p.csv"});
  EXPECT_FALSE(layer.crs.known());
  const Crs utm = parse_crs("EPSG:32614");
  Doubts doubts;
  EXPECT_EQ(code_of([&] { in_crs(layer, utm, {}, doubts); }), "layer_without_crs");
  EXPECT_EQ(in_crs(layer, utm, utm, doubts).features[0].points[0], (Point{500000, 4300000}));
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "assumed_crs");
  EXPECT_EQ(doubts[0].severity, Severity::doubt);
}

TEST(LayerInCrs, TellsLatitudeAndLongitudeThatAreSwapped) {
  const Crs utm14 = parse_crs("EPSG:32614");
  const Crs utm30 = parse_crs("EPSG:32630");
  // Kansas: a latitude of -99 is impossible. Andalusia: both orders are on earth, one is in the
  // zone.
  for (const auto& [coordinates, crs] :
       std::vector<std::pair<std::string, Crs>>{{"[38.5,-99]", utm14}, {"[37.4,-5.5]", utm30}}) {
    Doubts doubts;
    const FileRef file = geojson(
        fresh_folder(), feature("{\"type\":\"Point\",\"coordinates\":" + coordinates + "}"));
    const VectorLayer layer = in_crs(read_vector(file), crs, {}, doubts);
    ASSERT_EQ(doubts.size(), 1U) << coordinates;
    EXPECT_EQ(doubts[0].code, "swapped_lat_lon");
    EXPECT_EQ(doubts[0].severity, Severity::problem);
    EXPECT_GT(layer.features[0].points[0].y, 4'000'000) << "read as meant";
  }
}

TEST(LayerInCrs, LeavesGoodLongitudeAndLatitudeAlone) {
  for (const auto& [coordinates, code] :
       std::vector<std::pair<std::string, std::string>>{{"[-99,38.5]", "EPSG:32614"},
                                                        {"[-5.5,37.4]", "EPSG:32630"},
                                                        {"[37.4,-5.5]", "EPSG:32737"},
                                                        {"[45,45]", "EPSG:32638"}}) {
    Doubts doubts;
    const FileRef file = geojson(
        fresh_folder(), feature("{\"type\":\"Point\",\"coordinates\":" + coordinates + "}"));
    in_crs(read_vector(file), parse_crs(code), {}, doubts);
    EXPECT_TRUE(doubts.empty()) << coordinates;
  }
}

TEST(LayerInCrs, RefusesEastingsThatClaimToBeLongitudes) {
  Doubts doubts;
  const FileRef file =
      geojson(fresh_folder(), feature("{\"type\":\"Point\",\"coordinates\":[500000,4300000]}"));
  EXPECT_EQ(code_of([&] { in_crs(read_vector(file), parse_crs("EPSG:32614"), {}, doubts); }),
            "not_lon_lat");
}

}  // namespace
}  // namespace evendrip
