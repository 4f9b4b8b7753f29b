// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/toml.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

using test::fresh_folder;
using test::put;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

TomlTable document(const std::string& text) {
  return read_toml(put(fresh_folder() / "field.toml", text), "field.toml");
}

TEST(TomlReader, ReadsEveryTypeAndDates) {
  const TomlTable table = document(
      "name = \"Heron Flat\"\nnumber = 0.5\nwhole = 3\nflag = true\nday = 2026-05-12\n"
      "moment = 2026-05-12T06:30:00Z\nwritten = \"2024-02-29\"\nlist = [\"a\", \"b\"]\n");
  Doubts doubts;
  TomlReader reader(table, "field.toml", "[field]", doubts);
  EXPECT_EQ(reader.text("name"), "Heron Flat");
  EXPECT_EQ(reader.number("number"), 0.5);
  EXPECT_EQ(reader.number("whole"), 3.0);
  EXPECT_EQ(reader.integer("whole"), 3);
  EXPECT_EQ(reader.flag("flag"), true);
  EXPECT_EQ(reader.date("day"), "2026-05-12");
  EXPECT_EQ(reader.date("moment"), "2026-05-12");
  EXPECT_EQ(reader.date("written"), "2024-02-29");
  EXPECT_THAT(reader.texts("list"), ElementsAre("a", "b"));
  EXPECT_THAT(reader.texts("name"), ElementsAre("Heron Flat"));
  EXPECT_FALSE(reader.text("absent"));
  reader.finish();
  EXPECT_TRUE(doubts.empty());
}

TEST(TomlReader, ListsEveryValueOfAWrongTypeWithItsLine) {
  const TomlTable table = document(
      "name = 3\nnumber = \"0.5\"\nwhole = 1.5\nflag = 1\nday = \"2026-02-30\"\nlist = [1]\n"
      "n = nan\n");
  Doubts doubts;
  TomlReader reader(table, "field.toml", "[field]", doubts);
  EXPECT_FALSE(reader.text("name"));
  EXPECT_FALSE(reader.number("number"));
  EXPECT_FALSE(reader.integer("whole"));
  EXPECT_FALSE(reader.flag("flag"));
  EXPECT_FALSE(reader.date("day"));
  EXPECT_TRUE(reader.texts("list").empty());
  EXPECT_FALSE(reader.number("n"));
  ASSERT_EQ(doubts.size(), 7U);
  EXPECT_EQ(doubts[4].place, (Place{"field.toml", "[field]", 5, "day"}));
  EXPECT_EQ(doubts[4].code, "bad_date");
}

TEST(TomlReader, ReadsQuantitiesFromTextOrFromAKeyThatNamesTheUnit) {
  const TomlTable table = document(
      "pressure = \"1 bar\"\nspacing_mm = 500\ntolerance = 0.07\nrange = [\"70 kPa\", \"3 "
      "bar\"]\n");
  Doubts doubts;
  TomlReader reader(table, "field.toml", "[emitter]", doubts);
  EXPECT_DOUBLE_EQ(reader.quantity("pressure", Dimension::pressure).value_or(0), 100);
  EXPECT_DOUBLE_EQ(reader.quantity("spacing", Dimension::length).value_or(0), 0.5);
  EXPECT_DOUBLE_EQ(reader.quantity("tolerance", Dimension::fraction).value_or(0), 0.07);
  EXPECT_THAT(reader.quantities("range", Dimension::pressure), ElementsAre(70, 300));
  reader.required("spacing", "the distance between emitters");
  reader.finish();
  EXPECT_TRUE(doubts.empty()) << to_text(doubts.front());
}

TEST(TomlReader, RefusesQuantitiesWithoutUnitOrGivenTwice) {
  const TomlTable table =
      document("pressure = 100\ndepth = \"lots\"\nspacing = \"0.5 m\"\nspacing_mm = 500\n");
  Doubts doubts;
  TomlReader reader(table, "field.toml", "[emitter]", doubts);
  EXPECT_FALSE(reader.quantity("pressure", Dimension::pressure));
  EXPECT_FALSE(reader.quantity("depth", Dimension::length));
  EXPECT_DOUBLE_EQ(reader.quantity("spacing", Dimension::length).value_or(0), 0.5);
  ASSERT_EQ(doubts.size(), 3U);
  EXPECT_EQ(doubts[0].place.row, 1U);
  EXPECT_THAT(doubts[0].expected, HasSubstr("kPa"));
  EXPECT_EQ(doubts[1].place.column, "depth");
  EXPECT_EQ(doubts[2].code, "given_twice");
}

TEST(TomlReader, ListsUnknownKeysWithTheNearestKnownOne) {
  const TomlTable table = document("exponant = 0.5\nfoo = 1\nspacing = \"1 m\"\n");
  Doubts doubts;
  TomlReader reader(table, "field.toml", "[emitter]", doubts);
  reader.number("exponent");
  reader.quantity("spacing", Dimension::length);
  reader.finish();
  ASSERT_EQ(doubts.size(), 2U);
  EXPECT_EQ(doubts[0].code, "unknown_key");
  EXPECT_EQ(doubts[0].place.row, 1U);
  EXPECT_THAT(doubts[0].remedy, HasSubstr("Did you mean \"exponent\"?"));
  EXPECT_THAT(doubts[1].expected, HasSubstr("one of exponent, spacing"));
}

TEST(TomlReader, ListsAMissingKey) {
  const TomlTable table = document("a = 1\n");
  Doubts doubts;
  TomlReader reader(table, "field.toml", "[emitter]", doubts);
  reader.required("discharge", "the rated discharge, for example \"1.0 L/h\"");
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "missing_key");
  EXPECT_EQ(doubts[0].place.column, "discharge");
}

TEST(TomlReader, ReadsSectionsAndListsOfSections) {
  const TomlTable table = document(
      "[field]\nname = \"F\"\n[[zone]]\nid = \"Z1\"\n[[zone]]\nid = \"Z2\"\n[columns]\n"
      "\"Vol (mL)\" = \"volume_ml\"\n");
  Doubts doubts;
  TomlReader reader(table, "field.toml", "", doubts);
  EXPECT_NE(reader.table("field"), nullptr);
  EXPECT_EQ(reader.tables("zone").size(), 2U);
  EXPECT_EQ(reader.tables("field").size(), 1U);
  EXPECT_EQ(reader.table("absent"), nullptr);
  TomlReader columns(*reader.table("columns"), "field.toml", "[columns]", doubts);
  const auto pairs = columns.text_pairs();
  ASSERT_EQ(pairs.size(), 1U);
  EXPECT_EQ(pairs[0].first, "Vol (mL)");
  columns.finish();
  reader.finish();
  EXPECT_TRUE(doubts.empty());
  EXPECT_EQ(reader.table("zone"), nullptr);
  EXPECT_EQ(doubts.size(), 1U);
}

}  // namespace
}  // namespace evendrip
