// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"

namespace evendrip {
namespace {

std::filesystem::path output(const std::string& name) {
  return std::filesystem::path(EVENDRIP_TEST_OUTPUT) / name;
}

TEST(EvaluationPage, HoldsVerdictFactsTablePlotsMapDoubtsAndCautions) {
  const Evaluation e = test::evaluation_of(test::small_field("page_whole"));
  const EvaluationSheet page = evaluation_page(e, find_map_resources());
  EXPECT_EQ(page.field, "Small Field");
  EXPECT_NE(page.verdict.find("Low-quarter distribution uniformity"), std::string::npos);
  EXPECT_EQ(page.columns.size(), 3U);
  ASSERT_EQ(page.plots.size(), 3U);
  for (const Plot& plot : page.plots) {
    EXPECT_EQ(plot.statement, "") << plot.title;
    EXPECT_FALSE(plot.series.empty()) << plot.title;
  }
  ASSERT_TRUE(page.map);
  EXPECT_FALSE(page.cautions.empty());
}

TEST(EvaluationPage, TellsWhatIsNotComputedAmongTheFirst) {
  const Evaluation e = test::evaluation_of(test::small_field("page_not_computed"));
  const EvaluationSheet page = evaluation_page(e, find_map_resources());
  auto all = conclusions_of(e);
  ASSERT_GT(page.doubts.size(), 3U);
  const auto missing = std::find_if(page.doubts.begin(), page.doubts.end(), [](const auto& text) {
    return text.rfind("Not computed", 0) == 0;
  });
  EXPECT_LE(missing - page.doubts.begin(), 2);
  auto shown = page.doubts;
  std::sort(shown.begin(), shown.end());
  std::sort(all.begin(), all.end());
  EXPECT_EQ(shown, all);
}

TEST(EvaluationPage, PlotsEveryUsableEmitterAgainstWhatIsExpected) {
  const Evaluation e = test::evaluation_of(test::small_field("page_plots"));
  const EvaluationSheet page = evaluation_page(e, find_map_resources());
  std::size_t points = 0;
  for (const PlotSeries& series : page.plots[2].series) {
    if (series.mark != PlotMark::none) points += series.points.size();
  }
  const auto usable = std::count_if(e.survey.emitters.begin(), e.survey.emitters.end(),
                                    [](const MeasuredEmitter& m) { return m.usable(); });
  EXPECT_EQ(points, static_cast<std::size_t>(usable));
}

TEST(EvaluationPage, SaysInThePlotWhyNothingIsExpected) {
  const Evaluation e =
      test::evaluation_of(test::small_field_without_manifolds("page_without_pressures"));
  const EvaluationSheet page = evaluation_page(e, find_map_resources());
  EXPECT_NE(page.plots[2].statement, "");
  EXPECT_EQ(page.plots[0].statement, "");
}

TEST(EvaluationPage, IsDrawnForSurveysThatTellNothing) {
  const MapResources resources = find_map_resources();
  int i = 0;
  for (const std::vector<std::vector<double>>& emitters :
       {std::vector<std::vector<double>>{{0.9}}, {{0, 0}, {0, 0}}, {{1, 1}, {1, 1}}}) {
    const std::string name = "page_bare_" + std::to_string(++i);
    const EvaluationSheet page = evaluation_page(test::evaluation_with(name, emitters), resources);
    draw_evaluation_pdf(page, resources, output(name + ".pdf"));
    EXPECT_GT(std::filesystem::file_size(output(name + ".pdf")), 5000U);
  }
}

}  // namespace
}  // namespace evendrip
