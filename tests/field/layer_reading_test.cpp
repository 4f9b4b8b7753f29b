// SPDX-License-Identifier: Apache-2.0
#include "../../src/field/layer_reading.hpp"

#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::entry;
using testing::FieldFolder;
using testing::south;
using testing::west;

TEST(LayerReading, ChoosesTheUtmZoneOfTheData) {
  const Field field = read_field(FieldFolder().change("field.toml", "EPSG:32614", "auto").write());
  EXPECT_EQ(field.crs.code, "EPSG:32614") << testing::all_text(field.doubts);
  EXPECT_NEAR(field.scale_factor, testing::utm_scale, 1e-7);
}

TEST(LayerReading, ChoosesTheSouthernUtmZoneForDegrees) {
  // Longitude 147.5 E lies in zone 55 (144-150 E).
  const std::string zone = FieldFolder::feature(
      R"("id":"Z1")", "Polygon",
      "[[[147.5,-34.8],[147.502,-34.8],[147.502,-34.798],[147.5,-34.798],[147.5,-34.8]]]");
  FieldFolder folder;
  folder.change("field.toml", "EPSG:32614", "auto")
      .change("field.toml", "laterals = \"laterals.geojson\"", "")
      .change("field.toml", "manifolds = \"manifolds.geojson\"", "")
      .change("field.toml", "ports = \"ports.geojson\"", "")
      .file("zones.geojson", FieldFolder::layer(zone, ""));
  const Field field = read_field(folder.write());
  EXPECT_EQ(field.crs.code, "EPSG:32755") << testing::all_text(field.doubts);
}

TEST(LayerReading, ComputesInMetresWhereTheCrsIsInFeet) {
  // EPSG:2272: Pennsylvania South in US survey feet.
  const double foot = 1200.0 / 3937.0;
  const std::string zone = FieldFolder::polygon("Z1", 2'000'000, 300'000, 2'001'000, 300'500);
  FieldFolder folder;
  folder.change("field.toml", "EPSG:32614", "EPSG:2272")
      .change("field.toml", "laterals = \"laterals.geojson\"", "")
      .change("field.toml", "manifolds = \"manifolds.geojson\"", "")
      .change("field.toml", "ports = \"ports.geojson\"", "")
      .file("zones.geojson", FieldFolder::layer(zone, "EPSG::2272"));
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.zones.size(), 1U) << testing::all_text(field.doubts);
  EXPECT_EQ(field.stated_crs.code, "EPSG:2272");
  EXPECT_DOUBLE_EQ(field.crs.unit_to_metre, 1);
  EXPECT_NEAR(extent_of(field.zones[0].area).width(), 1000 * foot, 1e-6);
}

TEST(LayerReading, RefusesDegrees) {
  const Field field =
      read_field(FieldFolder().change("field.toml", "EPSG:32614", "EPSG:4326").write());
  EXPECT_EQ(entry(field.doubts, "degrees_refused").severity, Severity::problem);
}

TEST(LayerReading, TellsALayerThatLiesFarAway) {
  const std::string lines = FieldFolder::line(R"("id":"L1","zone":"Z1")", west, south + 90'000,
                                              west + 50, south + 90'000);
  const Field field =
      read_field(FieldFolder().file("laterals.geojson", FieldFolder::layer(lines)).write());
  EXPECT_EQ(entry(field.doubts, "layer_far_away").severity, Severity::problem);
}

TEST(LayerReading, MapsAttributeNamesByTheColumnsSection) {
  FieldFolder folder;
  folder.change("zones.geojson", R"("id":"Z1")", R"("Block":"Z1")")
      .add("[columns]\nBlock = \"id\"\n");
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.zones.size(), 1U);
  EXPECT_EQ(field.zones[0].id, "Z1") << testing::all_text(field.doubts);
  EXPECT_EQ(field.columns.size(), 1U);
}

TEST(LayerReading, ListsEveryFileReadWithItsHash) {
  const Field field = read_field(FieldFolder().file("cans.csv", "abc").write());
  ASSERT_EQ(field.inputs.size(), 6U);
  EXPECT_EQ(field.inputs[0].as_written, "field.toml");
  EXPECT_EQ(field.inputs[5].as_written, "cans.csv");
  // SHA-256 of "abc": FIPS 180-2, appendix B.1.
  EXPECT_EQ(field.inputs[5].sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST(LayerReading, ListsAShapefileWithTheFilesItConsistsOf) {
  const std::filesystem::path folder = FieldFolder()
                                           .file("maps/z.SHP", "abc")
                                           .file("maps/z.dbf", "abc")
                                           .file("maps/z.prj", "abc")
                                           .write();
  Field field;
  field.folder = folder;
  const FileRef file{folder / "maps" / "z.SHP", "", "maps/z.SHP"};
  std::vector<std::string> names;
  for (const InputFile& input : inputs_of(field, {{"zones", file}, {"laterals", file}})) {
    names.push_back(input.as_written);
  }
  EXPECT_EQ(names,
            (std::vector<std::string>{"field.toml", "maps/z.SHP", "maps/z.dbf", "maps/z.prj"}));
}

}  // namespace
}  // namespace evendrip
