// SPDX-License-Identifier: Apache-2.0
// Rules of the format: RFC 4180 section 2; UTF-8: RFC 3629.
#include "evendrip/io/csv.hpp"

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

TEST(CsvTable, GivesCellsOfColumnsThatNeedNotBeThere) {
  const Table table = table_of("date,zone\n2026-05-12,Z1\n");
  EXPECT_EQ(table.cell_if_any(0, table.required_column("zone")), "Z1");
  EXPECT_EQ(table.cell_if_any(0, table.column("laterals")), "");
  EXPECT_EQ(code_of([&] { table.required_column("action"); }), "missing_column");
}

}  // namespace
}  // namespace evendrip
