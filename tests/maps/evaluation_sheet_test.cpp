// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/evaluation_sheet.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "made_evaluation_sheet.hpp"

namespace evendrip {
namespace {

using example::made_sheet;
using example::output;

TEST(EvaluationSheet, FitsOnOnePageWhereItCan) {
  const DrawnEvaluation drawn =
      draw_evaluation_png(made_sheet(), find_map_resources(), output("evaluation.png"));
  EXPECT_EQ(drawn.pages, 1);
  EXPECT_EQ(drawn.foreign_characters, 0);
}

TEST(EvaluationSheet, GoesOnWhereAPageEnds) {
  EvaluationSheet sheet = made_sheet();
  for (int i = 0; i < 100; ++i) {
    sheet.doubts.push_back("Doubt number " + std::to_string(i) +
                           ", told at such a length that a page never holds them all.");
    sheet.rows.push_back({"One more measure", {"1", "2", "3"}});
  }
  const DrawnEvaluation drawn =
      draw_evaluation_png(sheet, find_map_resources(), output("evaluation_long.png"));
  EXPECT_GT(drawn.pages, 2);
  EXPECT_LT(drawn.pages, 8);
}

TEST(EvaluationSheet, PutsFurtherTablesWithTheirPlotsOnFurtherPages) {
  EvaluationSheet sheet = made_sheet();
  const EvaluationBlock block{{"Zone Z3", "Zone Z4"}, sheet.rows, {sheet.plots[0], sheet.plots[1]}};
  sheet.further.assign(3, block);
  const auto file = [](int page) {
    return output("evaluation_page_" + std::to_string(page) + ".png");
  };
  const int pages = draw_evaluation_png(sheet, find_map_resources(), file(1), 60, 1).pages;
  ASSERT_GE(pages, 2);
  ASSERT_LE(pages, 4);
  const auto size_of = [](const std::filesystem::path& path) {
    return std::filesystem::file_size(path);
  };
  for (int page = 2; page <= pages; ++page) {
    draw_evaluation_png(sheet, find_map_resources(), file(page), 60, page);
    EXPECT_GT(size_of(file(page)), 10'000U) << page;
  }
  // A page that is not there is empty: each page shows itself alone.
  draw_evaluation_png(sheet, find_map_resources(), file(pages + 1), 60, pages + 1);
  EXPECT_LT(size_of(file(pages + 1)), 5'000U);
}

TEST(EvaluationSheet, IsDrawnWithHardlyAnythingOnIt) {
  EvaluationSheet sheet;
  sheet.title = "Evaluation";
  sheet.verdict = "Uniformity is not told.";
  const DrawnEvaluation drawn =
      draw_evaluation_png(sheet, find_map_resources(), output("evaluation_bare.png"));
  EXPECT_EQ(drawn.pages, 1);
}

TEST(EvaluationSheet, IsTheSamePdfEveryTime) {
  const auto bytes = [](const std::string& name) {
    draw_evaluation_pdf(made_sheet(), find_map_resources(), output(name));
    std::ifstream in(output(name), std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  };
  const std::string once = bytes("evaluation_a.pdf");
  EXPECT_EQ(once, bytes("evaluation_b.pdf"));
  EXPECT_EQ(once.substr(0, 5), "%PDF-");
}

}  // namespace
}  // namespace evendrip
