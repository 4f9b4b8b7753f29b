// SPDX-License-Identifier: Apache-2.0
#include <fstream>

#include "evendrip/field/field.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;
using testing::south;
using testing::west;

TEST(ReadField, ReadsAWholeFolderWithoutComplaint) {
  const Field field = read_field(FieldFolder().write());
  EXPECT_TRUE(field.doubts.empty()) << testing::all_text(field.doubts);
  EXPECT_EQ(field.name, "Test Field");
  EXPECT_EQ(field.crs.code, "EPSG:32614");
  ASSERT_EQ(field.zones.size(), 1U);
  EXPECT_EQ(field.zones[0].id, "Z1");
  EXPECT_DOUBLE_EQ(field.zones[0].inlet_pressure_kpa, 110);
  EXPECT_DOUBLE_EQ(field.zones[0].emitter.discharge_lph, 1);
  EXPECT_DOUBLE_EQ(field.zones[0].lateral.inside_diameter_mm, 16);
  EXPECT_EQ(field.laterals.size(), 20U);
  ASSERT_EQ(field.surveys.size(), 1U);
  EXPECT_EQ(field.surveys[0].date, "2026-05-12");
}

TEST(ReadField, ListsEveryFileReadWithItsHash) {
  const Field field = read_field(FieldFolder().file("cans.csv", "abc").write());
  ASSERT_EQ(field.inputs.size(), 6U);
  EXPECT_EQ(field.inputs[0].as_written, "field.toml");
  EXPECT_EQ(field.inputs[5].as_written, "cans.csv");
  // SHA-256 of "abc": FIPS 180-2, appendix B.1.
  EXPECT_EQ(field.inputs[5].sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

TEST(ReadField, NamesTheFolderThatIsMissingOrHoldsNoDescription) {
  const std::filesystem::path folder = FieldFolder().write();
  const auto code_of = [](const std::filesystem::path& path) {
    try {
      read_field(path);
    } catch (const InputError& error) {
      EXPECT_NE(error.problems().front().place.file.find(path.string()), std::string::npos);
      return error.problems().front().code;
    }
    return std::string("nothing was thrown");
  };
  EXPECT_EQ(code_of(folder / "nowhere"), "missing_folder");
  std::filesystem::remove(folder / "field.toml");
  EXPECT_EQ(code_of(folder), "missing_file");
}

TEST(ReadField, ThrowsOnlyWhereTheTomlCannotBeParsed) {
  EXPECT_THROW(read_field(FieldFolder().change("field.toml", "[field]", "[field").write()),
               InputError);
  EXPECT_NO_THROW(read_field(FieldFolder().file("field.toml", "").write()));
}

TEST(ReadField, NamesEverySectionThatIsMissing) {
  const Field field = read_field(FieldFolder().file("field.toml", "").write());
  EXPECT_EQ(count(field.doubts, "missing_section"), 5) << testing::all_text(field.doubts);
  EXPECT_TRUE(has_problem(field.doubts));
}

TEST(ReadField, NamesAnUnknownKeyWithItsLineAndTheNearestKnownOne) {
  const Field field =
      read_field(FieldFolder().change("field.toml", "spacing = \"0.5 m\"", "spacin = 1").write());
  const Doubt doubt = entry(field.doubts, "unknown_key");
  EXPECT_EQ(doubt.severity, Severity::problem);
  EXPECT_EQ(doubt.place.row, 14U);
  EXPECT_EQ(doubt.expected, "spacing");
}

TEST(ReadField, NamesAnUnknownSection) {
  const Field field = read_field(FieldFolder().add("[emiter]\nspacing = \"1 m\"\n").write());
  EXPECT_EQ(entry(field.doubts, "unknown_key").expected, "emitter");
}

TEST(ReadField, ListsSectionsThatNothingReadsOnceAndAcceptsTheirKeys) {
  const Field field = read_field(
      FieldFolder().add("[irrigation]\nset_time = \"12 h\"\n[economics]\nprice = 200\n").write());
  EXPECT_TRUE(field.doubts.empty()) << testing::all_text(field.doubts);
  const auto has = [&](const std::string& text) {
    return std::count(field.not_computed.begin(), field.not_computed.end(), text);
  };
  EXPECT_EQ(has("[irrigation] is read by no part of this version"), 1);
  EXPECT_EQ(has("[economics] is read by no part of this version"), 1);
  EXPECT_EQ(has("[agronomy] is read by no part of this version"), 0);
}

TEST(ReadField, ChoosesTheUtmZoneOfTheData) {
  const Field field = read_field(FieldFolder().change("field.toml", "EPSG:32614", "auto").write());
  EXPECT_EQ(field.crs.code, "EPSG:32614") << testing::all_text(field.doubts);
  EXPECT_NEAR(field.scale_factor, testing::utm_scale, 1e-7);
}

TEST(ReadField, ChoosesTheSouthernUtmZoneForDegrees) {
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

TEST(ReadField, ComputesInMetresWhereTheCrsIsInFeet) {
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

TEST(ReadField, RefusesDegrees) {
  const Field field =
      read_field(FieldFolder().change("field.toml", "EPSG:32614", "EPSG:4326").write());
  EXPECT_EQ(entry(field.doubts, "degrees_refused").severity, Severity::problem);
}

TEST(ReadField, RefusesAPathThatLeavesTheFolder) {
  const Field field = read_field(
      FieldFolder().change("field.toml", "\"zones.geojson\"", "\"../zones.geojson\"").write());
  EXPECT_EQ(entry(field.doubts, "path_leaves_folder").severity, Severity::problem);
}

TEST(ReadField, TellsALayerThatLiesFarAway) {
  const std::string lines = FieldFolder::line(R"("id":"L1","zone":"Z1")", west, south + 90'000,
                                              west + 50, south + 90'000);
  const Field field =
      read_field(FieldFolder().file("laterals.geojson", FieldFolder::layer(lines)).write());
  EXPECT_EQ(entry(field.doubts, "layer_far_away").severity, Severity::problem);
}

TEST(ReadField, MapsAttributeNamesByTheColumnsSection) {
  FieldFolder folder;
  folder.change("zones.geojson", R"("id":"Z1")", R"("Block":"Z1")")
      .add("[columns]\nBlock = \"id\"\n");
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.zones.size(), 1U);
  EXPECT_EQ(field.zones[0].id, "Z1") << testing::all_text(field.doubts);
  EXPECT_EQ(field.columns.size(), 1U);
}

TEST(ReadField, LetsAZoneTableOverrideTheDefaults) {
  FieldFolder folder;
  folder.file(
      "zones.geojson",
      FieldFolder::layer(FieldFolder::polygon("Z1", west, south, west + 100, south + 60) + "," +
                         FieldFolder::polygon("Z2", west + 100, south, west + 200, south + 60)));
  folder.add(
      "[[zone]]\nid = \"Z2\"\nemitter_spacing = \"12 in\"\nlateral_spacing = \"1 m\"\n"
      "discharge = \"0.5 gph\"\nends = \"flush_manifold\"\n");
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.zones.size(), 2U) << testing::all_text(field.doubts);
  EXPECT_DOUBLE_EQ(field.zones[0].emitter.spacing_m, 0.5);
  EXPECT_NEAR(field.zones[1].emitter.spacing_m, 0.3048, 1e-12);
  EXPECT_NEAR(field.zones[1].emitter.discharge_lph, 0.5 * 3.785411784, 1e-9);
  EXPECT_DOUBLE_EQ(field.zones[1].lateral.spacing_m, 1);
  EXPECT_EQ(field.zones[1].lateral.ends, LateralEnds::flush_manifold);
  EXPECT_EQ(field.zones[0].lateral.ends, LateralEnds::closed);
}

TEST(ReadField, RefusesABareSpacingInAZone) {
  const Field field =
      read_field(FieldFolder()
                     .change("field.toml", "inlet_pressure", "spacing = \"1 m\"\ninlet_pressure")
                     .write());
  EXPECT_EQ(entry(field.doubts, "ambiguous_key").expected, "emitter_spacing or lateral_spacing");
  EXPECT_EQ(count(field.doubts, "unknown_key"), 0);
}

TEST(ReadField, NamesAZoneTableWithoutAPolygon) {
  const Field field = read_field(FieldFolder().add("[[zone]]\nid = \"Z9\"\n").write());
  const Doubt doubt = entry(field.doubts, "unknown_zone");
  EXPECT_EQ(doubt.found, "Z9");
  EXPECT_EQ(doubt.expected, "Z1");
}

}  // namespace
}  // namespace evendrip
