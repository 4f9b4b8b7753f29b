// SPDX-License-Identifier: Apache-2.0
// Rules of the format: RFC 4180 section 2; UTF-8: RFC 3629.
#include "evendrip/io/csv.hpp"

#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

using test::code_of;
using test::fresh_folder;
using test::problems_of;
using test::put;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

Table table_of(const std::string& bytes,
               const std::vector<std::pair<std::string, std::string>>& columns = {}) {
  return read_csv(put(fresh_folder() / "t.csv", bytes), "t.csv", columns);
}

TEST(CsvTable, ReadsQuotesCommasAndLineEndsInsideQuotesAsRfc4180Says) {
  const Table table = table_of("Record,Note\r\n1,\"a, \"\"b\"\"\"\r\n2,\"two\r\nlines\"\r\n3,last");
  EXPECT_THAT(table.headings, ElementsAre("record", "note"));
  ASSERT_EQ(table.rows(), 3U);
  EXPECT_EQ(table.cell(0, 1), "a, \"b\"");
  EXPECT_EQ(table.cell(1, 1), "two\r\nlines");
  EXPECT_EQ(table.cell(2, 1), "last");
  EXPECT_THAT(table.lines, ElementsAre(2U, 3U, 5U));
  EXPECT_TRUE(table.doubts.empty());
}

TEST(CsvTable, ReadsEveryKindOfLineEnd) {
  for (const std::string end : {"\n", "\r\n", "\r"}) {
    const Table table = table_of("a,b" + end + "1,2" + end + end + "3,4" + end);
    ASSERT_EQ(table.rows(), 2U);
    EXPECT_EQ(table.cell(1, 1), "4");
    EXPECT_THAT(table.lines, ElementsAre(2U, 4U));
  }
}

TEST(CsvTable, DropsTheByteOrderMark) {
  EXPECT_THAT(table_of("\xEF\xBB\xBFrecord,x\n1,2\n").headings, ElementsAre("record", "x"));
}

TEST(CsvTable, FindsTheSeparatorFromTheHeadingLine) {
  EXPECT_EQ(table_of("a;b;\"c,d,e,f\"\n1;2;3\n").separator, ';');
  EXPECT_EQ(table_of("a\tb\n1\t2\n").separator, '\t');
  EXPECT_EQ(table_of("a,b\n1,2\n").separator, ',');
  EXPECT_THAT(table_of("alone\n1\n").headings, ElementsAre("alone"));
}

TEST(CsvTable, MapsOtherHeadingsToOurs) {
  const Table table = table_of("Can No,Vol (mL)\n1,30\n", {{"vol (ml)", "volume_ml"}});
  EXPECT_EQ(table.column("volume_ml"), 1);
  EXPECT_EQ(table.column("volume"), -1);
}

TEST(CsvTable, TellsLatin1BytesAndReadsThemAlsoBesideUtf8) {
  const Table table = table_of(
      "name\nCa\xC3\xB1"
      "ada\nPe\xF1"
      "a\n");
  EXPECT_EQ(table.cell(0, 0),
            "Ca\xC3\xB1"
            "ada");
  EXPECT_EQ(table.cell(1, 0),
            "Pe\xC3\xB1"
            "a");
  ASSERT_EQ(table.doubts.size(), 1U);
  EXPECT_EQ(table.doubts[0].code, "latin1_text");
  EXPECT_EQ(table.doubts[0].place.row, 3U);
}

TEST(CsvTable, TellsShortRowsOnceAndFillsThem) {
  const Table table = table_of("a,b,c\n1,2,3\n1\n1,2\n");
  EXPECT_EQ(table.cell(1, 2), "");
  ASSERT_EQ(table.doubts.size(), 1U);
  EXPECT_EQ(table.doubts[0].code, "short_rows");
  EXPECT_EQ(table.doubts[0].place.row, 3U);
  EXPECT_THAT(table.doubts[0].text, HasSubstr("2 row(s)"));
}

TEST(CsvTable, TellsAHeadingThatStandsTwice) {
  const Table table = table_of("a,b,A\n1,2,3\n");
  ASSERT_EQ(table.doubts.size(), 1U);
  EXPECT_EQ(table.doubts[0].code, "heading_twice");
  EXPECT_EQ(table.cell(0, static_cast<std::size_t>(table.column("a"))), "1");
}

TEST(CsvTable, DropsEmptyColumnsAndRowsThatSpreadsheetsAdd) {
  const Table table = table_of("a,b,,\n1,2,,\n,,,\n3,4\n");
  EXPECT_EQ(table.headings.size(), 2U);
  EXPECT_EQ(table.rows(), 2U);
  EXPECT_TRUE(table.doubts.empty());
}

TEST(CsvTable, ListsEveryRowThatHasTooManyCells) {
  const Doubts problems = problems_of([] { table_of("a,b\n1,2,3\n1,2\n4,5,6,7\n"); });
  ASSERT_EQ(problems.size(), 2U);
  EXPECT_EQ(problems[0].code, "too_many_cells");
  EXPECT_EQ(problems[0].place.row, 2U);
  EXPECT_EQ(problems[0].found, "3");
  EXPECT_THAT(problems[0].remedy, HasSubstr("semicolons"));
  EXPECT_EQ(problems[1].place.row, 4U);
}

TEST(CsvTable, NamesTheLineOfAQuoteThatNeverCloses) {
  const Doubts problems = problems_of([] { table_of("a,b\n1,2\n3,\"open\n5,6\n"); });
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "quote_never_closes");
  EXPECT_EQ(problems[0].place.row, 3U);
  EXPECT_EQ(problems[0].place.column, "2");
}

TEST(CsvTable, RefusesTextAfterAClosingQuote) {
  EXPECT_EQ(code_of([] { table_of("a,b\n\"1\"x,2\n"); }), "text_after_quote");
}

TEST(CsvTable, RefusesEmptyFilesAndFilesWithoutRows) {
  EXPECT_EQ(code_of([] { table_of(""); }), "empty_file");
  EXPECT_EQ(code_of([] { table_of("\xEF\xBB\xBF\r\n\r\n"); }), "empty_file");
  EXPECT_EQ(code_of([] { table_of("a,b\n"); }), "no_rows");
}

TEST(CsvTable, RefusesBinaryContentByName) {
  EXPECT_EQ(code_of([] { table_of("PK\x03\x04rest"); }), "binary_file");
  EXPECT_EQ(code_of([] { table_of(std::string("a,b\n1,\0002\n", 9)); }), "binary_file");
  EXPECT_EQ(code_of([] {
              table_of(
                  "\xFF\xFE"
                  "a,b");
            }),
            "utf16_file");
}

TEST(CsvTable, ThrowsFileErrorForAFileThatIsNotThere) {
  const auto file = fresh_folder() / "none.csv";
  EXPECT_EQ(code_of<FileError>([&] { read_csv(file, "none.csv"); }), "not_readable");
}

TEST(CsvTable, ReadsALineOfTenMillionBytes) {
  const Table table = table_of("a,b\n" + std::string(10'000'000, 'x') + ",2\n");
  EXPECT_EQ(table.cell(0, 0).size(), 10'000'000U);
  EXPECT_EQ(table.cell(0, 1), "2");
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
