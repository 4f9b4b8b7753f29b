// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/csv.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

using test::fresh_folder;
using test::put;
using ::testing::HasSubstr;

Table table_of(const std::string& bytes) {
  return read_csv(put(fresh_folder() / "t.csv", bytes), "t.csv");
}

TEST(NumberColumn, IsInCanonicalUnitsWhicheverUnitTheHeadingNames) {
  Doubts problems;
  const Table table = table_of("volume_l,duration_min\n0.25,2\n,1\n");
  const NumberColumn volume = number_column(table, "volume", Dimension::volume, problems);
  const NumberColumn time = number_column(table, "duration", Dimension::time, problems);
  EXPECT_EQ(volume.heading, "volume_l");
  EXPECT_DOUBLE_EQ(volume.values[0], 250);
  EXPECT_TRUE(std::isnan(volume.values[1]));
  EXPECT_DOUBLE_EQ(time.values[0], 120);
  EXPECT_TRUE(problems.empty());
}

TEST(NumberColumn, ReadsDecimalCommasWhereSemicolonsOrTabsSeparate) {
  for (const std::string bytes : {"x;volume_ml\n1;12,5\n", "x\tvolume_ml\n1\t12,5\n"}) {
    Doubts problems;
    const NumberColumn volume =
        number_column(table_of(bytes), "volume", Dimension::volume, problems);
    EXPECT_DOUBLE_EQ(volume.values[0], 12.5);
    EXPECT_TRUE(problems.empty());
  }
}

TEST(NumberColumn, CountsTheBadCellsOfAWrongColumnBeyondTheFirstThousand) {
  std::string bytes = "volume_ml\n";
  for (int i = 0; i < 1500; ++i) bytes += i % 2 == 0 ? "north\n" : "south\n";
  Doubts problems;
  number_column(table_of(bytes), "volume", Dimension::volume, problems);
  ASSERT_EQ(problems.size(), 1001U);
  EXPECT_EQ(problems[999].place.row, 1001U);
  EXPECT_THAT(problems[1000].text, HasSubstr("500 more"));
  EXPECT_EQ(problems[1000].severity, Severity::problem);
}

TEST(NumberColumn, RefusesDecimalCommasInACommaTable) {
  Doubts problems;
  number_column(table_of("x,volume_ml\n1,\"12,5\"\n"), "volume", Dimension::volume, problems);
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].found, "12,5");
  EXPECT_THAT(problems[0].expected, HasSubstr("semicolons"));
}

TEST(NumberColumn, ListsEveryCellThatIsNoNumberWithRowColumnAndValue) {
  Doubts problems;
  const NumberColumn volume = number_column(
      table_of("record,volume_ml\n1,30\n2,many\n3,nan\n4,inf\n5,12 ml\n6,1e999\n7,0x1F\n8,+5\n"),
      "volume", Dimension::volume, problems);
  ASSERT_EQ(problems.size(), 6U);
  EXPECT_EQ(problems[0].place, (Place{"t.csv", "", 3, "volume_ml"}));
  EXPECT_EQ(problems[0].found, "many");
  EXPECT_EQ(problems[5].place.row, 8U);
  EXPECT_TRUE(has_problem(problems));
  EXPECT_DOUBLE_EQ(volume.values[0], 30);
  EXPECT_DOUBLE_EQ(volume.values[7], 5);
  EXPECT_TRUE(std::isnan(volume.values[1]));
}

TEST(NumberColumn, RefusesThousandsSeparators) {
  Doubts problems;
  plain_number_column(table_of("x;n\n1;1.234,5\n"), "n", problems);
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_THAT(problems[0].expected, HasSubstr("thousands"));
}

TEST(NumberColumn, DoubtsAColumnWithBothDecimalMarks) {
  Doubts problems;
  const NumberColumn n = plain_number_column(table_of("x;n\n1;2,5\n2;3.5\n"), "n", problems);
  EXPECT_DOUBLE_EQ(n.values[0], 2.5);
  EXPECT_DOUBLE_EQ(n.values[1], 3.5);
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].severity, Severity::doubt);
  EXPECT_EQ(problems[0].place.row, 3U);
}

TEST(NumberColumn, RefusesTwoHeadingsForOneQuantity) {
  Doubts problems;
  const NumberColumn volume = number_column(table_of("volume_ml,volume_l\n30,0.03\n"), "volume",
                                            Dimension::volume, problems);
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "two_units");
  EXPECT_EQ(volume.heading, "volume_ml");
}

TEST(NumberColumn, RefusesAHeadingWithoutUnitAndSaysWhichUnitsThereAre) {
  Doubts problems;
  const NumberColumn volume =
      number_column(table_of("volume,x\n30,1\n"), "volume", Dimension::volume, problems);
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "heading_without_unit");
  EXPECT_THAT(problems[0].expected, HasSubstr("mL"));
  EXPECT_EQ(volume.column, -1);
}

TEST(NumberColumn, IsAllNaNWhereTheTableHasNoSuchColumn) {
  Doubts problems;
  const NumberColumn none =
      number_column(table_of("a,b\n1,2\n3,4\n"), "volume", Dimension::volume, problems);
  EXPECT_EQ(none.column, -1);
  ASSERT_EQ(none.values.size(), 2U);
  EXPECT_TRUE(std::isnan(none.values[1]));
  EXPECT_TRUE(problems.empty());
}

}  // namespace
}  // namespace evendrip
