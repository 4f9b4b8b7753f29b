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

TEST(EvaluationSheet, FitsOnOnePageWithoutLeavingAnythingOut) {
  const DrawnEvaluation drawn =
      draw_evaluation_png(made_sheet(), find_map_resources(), output("evaluation.png"));
  EXPECT_EQ(drawn.rows_left_out, 0);
  EXPECT_EQ(drawn.doubts_left_out, 0);
  EXPECT_EQ(drawn.foreign_characters, 0);
}

TEST(EvaluationSheet, CountsWhatFindsNoRoom) {
  EvaluationSheet sheet = made_sheet();
  for (int i = 0; i < 100; ++i) {
    sheet.doubts.push_back("Doubt number " + std::to_string(i) +
                           ", told at such a length that a page never holds them all.");
    sheet.rows.push_back({"One more measure", {"1", "2", "3"}});
  }
  const DrawnEvaluation drawn =
      draw_evaluation_png(sheet, find_map_resources(), output("evaluation_too_long.png"));
  EXPECT_GT(drawn.doubts_left_out, 50);
  EXPECT_GT(drawn.rows_left_out, 50);
}

TEST(EvaluationSheet, IsDrawnWithHardlyAnythingOnIt) {
  EvaluationSheet sheet;
  sheet.title = "Evaluation";
  sheet.verdict = "Uniformity is not told.";
  const DrawnEvaluation drawn =
      draw_evaluation_png(sheet, find_map_resources(), output("evaluation_bare.png"));
  EXPECT_EQ(drawn.rows_left_out + drawn.doubts_left_out, 0);
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
