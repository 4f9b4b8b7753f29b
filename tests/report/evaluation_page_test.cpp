// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"
#include "own_folder.hpp"

namespace evendrip {
namespace {

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
  auto all = conclusions_of(e, Conclusions::without_details);
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

/// Columns of the first page and of the further ones.
std::vector<std::string> columns_of(const EvaluationSheet& page) {
  std::vector<std::string> all = page.columns;
  for (const EvaluationBlock& block : page.further) {
    all.insert(all.end(), block.columns.begin(), block.columns.end());
  }
  return all;
}

std::filesystem::path field_of_zones(const std::string& name, int zones) {
  SimulationPlan plan;
  plan.name = "Field of " + std::to_string(zones);
  plan.lonlat_centre = {-98.5, 39.5};
  plan.zones = zones;
  plan.laterals_per_zone = 6;
  plan.lateral_length_m = 40;
  plan.laterals_dug = 3;
  plan.emitters_per_lateral = 3;
  plan.biomass_pixel_m = 0;
  plan.seed = 8;
  const auto folder = test::own_folder() / name;
  std::filesystem::remove_all(folder);
  simulate_field(plan, folder);
  return folder;
}

TEST(EvaluationPage, HoldsEveryZoneOnceHoweverMany) {
  for (const int zones : {1, 3, 9}) {
    const std::string name = "page_of_" + std::to_string(zones);
    const Evaluation e = test::evaluation_of(field_of_zones(name, zones));
    const EvaluationSheet page = evaluation_page(e, find_map_resources());
    const auto columns = columns_of(page);
    for (const EvaluatedPart& zone : e.zones) {
      EXPECT_EQ(std::count(columns.begin(), columns.end(), "Zone " + zone.name), 1) << zone.name;
    }
    std::size_t points = 0;
    for (const EvaluationBlock& block : page.further) {
      ASSERT_EQ(block.plots.size(), 2U);
      for (const PlotSeries& series : block.plots[1].series) {
        if (series.mark != PlotMark::none) points += series.points.size();
      }
    }
    EXPECT_EQ(points > 0, zones > 3);
    const DrawnEvaluation drawn =
        draw_evaluation_pdf(page, find_map_resources(), test::own_folder() / (name + ".pdf"));
    EXPECT_GE(drawn.pages, zones > 3 ? 2 : 1);
  }
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
    draw_evaluation_pdf(page, resources, test::own_folder() / (name + ".pdf"));
    EXPECT_GT(std::filesystem::file_size(test::own_folder() / (name + ".pdf")), 5000U);
  }
}

}  // namespace
}  // namespace evendrip
