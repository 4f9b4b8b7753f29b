// SPDX-License-Identifier: Apache-2.0
#include <fstream>

#include "evendrip/field/field.hpp"
#include "evendrip/field/unsurveyed_field.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

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

TEST(ReadField, RemembersWhichFileHasWhichRole) {
  const Field field = read_field(FieldFolder().write());
  const auto has = [&](const char* role, const char* file) {
    return std::find(field.layer_files.begin(), field.layer_files.end(),
                     std::pair<std::string, std::string>(role, file)) != field.layer_files.end();
  };
  EXPECT_TRUE(has("laterals", "laterals.geojson"));
  EXPECT_TRUE(has("manifolds", "manifolds.geojson"));
  EXPECT_FALSE(has("elevation", ""));
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

TEST(ReadField, WithoutASurveyLacksNothingWhereNoneIsNeeded) {
  const auto empty = FieldFolder().file("field.toml", "").write();
  EXPECT_EQ(count(read_field_without_survey(empty).doubts, "missing_section"), 4);
  EXPECT_EQ(read_field_without_survey(FieldFolder().write()).surveys.size(), 1U);
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
      FieldFolder().add("[logs]\nflush = \"flush.csv\"\n[economics]\nprice = 200\n").write());
  EXPECT_TRUE(field.doubts.empty()) << testing::all_text(field.doubts);
  const auto has = [&](const std::string& text) {
    return std::count(field.not_computed.begin(), field.not_computed.end(), text);
  };
  EXPECT_EQ(has("[logs] flush is read by no part of this version"), 1);
  EXPECT_EQ(has("[economics] is read by no part of this version"), 1);
  EXPECT_EQ(has("[agronomy] is read by no part of this version"), 0);
}

TEST(ReadField, RefusesAPathThatLeavesTheFolder) {
  const Field field = read_field(
      FieldFolder().change("field.toml", "\"zones.geojson\"", "\"../zones.geojson\"").write());
  EXPECT_EQ(entry(field.doubts, "path_leaves_folder").severity, Severity::problem);
}

}  // namespace
}  // namespace evendrip
