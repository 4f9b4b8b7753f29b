// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/evaluation_sheet.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "example_field.hpp"

namespace evendrip {
namespace {

using example::make_example;
using example::output;

EvaluationSheet made_sheet() {
  const auto e = make_example();
  EvaluationSheet sheet;
  sheet.title = "Evaluation of emitter uniformity";
  sheet.field = e.field.name;
  sheet.survey = "survey 2026-spring";
  sheet.date = e.survey.date;
  sheet.verdict =
      "Low-quarter distribution uniformity of the field: 78 % (66 to 86, 95 % limits): good; fair "
      "cannot be excluded.";
  sheet.reading = "Zone Z1: 81 % (70 to 88). Zone Z2: 74 % (58 to 84).";
  for (const char* name : {"System", "Emitters", "Measured", "Counts", "Expected", "Limits"}) {
    sheet.facts.emplace_back(name, "some words about the " + std::string(name) +
                                       " that take more than a single line of their column");
  }
  sheet.columns = {"Field, by area", "Zone Z1", "Zone Z2"};
  for (int i = 0; i < 24; ++i) {
    if (i % 8 == 0) sheet.rows.push_back({"A heading", {}});
    sheet.rows.push_back({"A measure, number " + std::to_string(i),
                          {"78 % (66 to 86)", "81 % (70 to 88)", "good; fair cannot be excluded"}});
  }
  for (const char* title : {"Sorted", "Along the laterals", "Measured against expected"}) {
    Plot plot;
    plot.title = title;
    plot.series = {plot_look(0)};
    plot.series[0].points = {{0, 1}, {1, 0.9}, {2, 0.4}};
    sheet.plots.push_back(plot);
  }
  sheet.map = evaluation_map(e.field, e.survey, std::vector<double>(e.survey.emitters.size(), 0.95),
                             find_map_resources());
  sheet.doubts = {"Z1: fewer than six laterals: these limits rest on the model."};
  sheet.cautions = {"Before digging have buried utilities located."};
  sheet.foot = "evendrip";
  return sheet;
}

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
