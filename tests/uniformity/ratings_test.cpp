// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/ratings.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstddef>
#include <limits>
#include <string>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::string class_name(RatingTableId id, double figure, GapRule rule = GapRule::split_at_middle) {
  return rating_of(rating_table(id), figure, rule).class_name;
}

void expect_classes(RatingTableId id, const std::vector<std::pair<double, std::string>>& classes) {
  for (const auto& [figure, name] : classes) EXPECT_EQ(class_name(id, figure), name) << figure;
}

// Class tables from memory of the publications that rating_table names.
TEST(Rating, FollowsThePrintedClassesOfStatisticalUniformity) {
  expect_classes(RatingTableId::statistical_ep458, {{1.00, "excellent"},
                                                    {0.95, "excellent"},
                                                    {0.90, "good"},
                                                    {0.85, "good"},
                                                    {0.80, "fair"},
                                                    {0.75, "fair"},
                                                    {0.70, "poor"},
                                                    {0.65, "poor"},
                                                    {0.59, "unacceptable"},
                                                    {0, "unacceptable"}});
}

TEST(Rating, FollowsThePrintedClassesOfLowQuarterUniformity) {
  expect_classes(RatingTableId::low_quarter_ep458, {{0.94, "excellent"},
                                                    {0.87, "good"},
                                                    {0.81, "good"},
                                                    {0.75, "fair"},
                                                    {0.68, "fair"},
                                                    {0.62, "poor"},
                                                    {0.56, "poor"},
                                                    {0.49, "unacceptable"}});
}

// "> 90 excellent, 80-90 good, 70-80 fair, < 70 poor": the word decides on which side a limit lies.
TEST(Rating, PutsALimitWhereThePrintedWordPutsIt) {
  expect_classes(
      RatingTableId::emission_merriam_keller,
      {{0.901, "excellent"}, {0.90, "good"}, {0.80, "good"}, {0.70, "fair"}, {0.699, "poor"}});
  expect_classes(RatingTableId::statistical_bralts, {{0.90, "excellent"}});
  expect_classes(RatingTableId::emission_capra_scicolone, {{0.84, "mean"}, {0.66, "mean"}});
  expect_classes(RatingTableId::statistical_capra_scicolone, {{0.70, "low"}});
}

TEST(Rating, OfWhatShouldBeSmallRunsTheOtherWay) {
  expect_classes(RatingTableId::point_emitter_cv_ep405, {{0.049, "excellent"},
                                                         {0.05, "average"},
                                                         {0.08, "marginal"},
                                                         {0.12, "poor"},
                                                         {0.15, "poor"},
                                                         {0.151, "unacceptable"},
                                                         {1.4, "unacceptable"}});
  expect_classes(RatingTableId::line_emitter_cv_ep405, {{0.09, "good"}, {0.20, "average"}});
  expect_classes(RatingTableId::flow_variation_wu_gitlin,
                 {{0.10, "acceptable"}, {0.30, "not acceptable"}});
}

TEST(Rating, FillsAGapByTheRuleAndSaysSo) {
  const RatingTableId ep458 = RatingTableId::statistical_ep458;
  EXPECT_EQ(class_name(ep458, 0.93), "excellent");
  EXPECT_EQ(class_name(ep458, 0.925), "excellent");
  EXPECT_EQ(class_name(ep458, 0.92), "good");
  EXPECT_EQ(class_name(ep458, 0.949, GapRule::worse_class), "good");
  const Rating rating = rating_of(rating_table(ep458), 0.92);
  EXPECT_TRUE(rating.in_gap);
  EXPECT_THAT(rating.gap_text,
              HasSubstr("92.0 % lies between the printed excellent (95 %) and good "
                        "(90 %)"));
  EXPECT_FALSE(rating_of(rating_table(ep458), 0.88).in_gap);
  EXPECT_TRUE(rating_table(ep458).has_gaps());
  EXPECT_FALSE(rating_table(RatingTableId::statistical_bralts).has_gaps());
}

TEST(Rating, TellsTheClassesThatTheLimitsDoNotExclude) {
  const RatingTable table = rating_table(RatingTableId::statistical_ep458);
  EXPECT_EQ(rating_of(table, 0.86, 0.78, 0.91).text, "good; fair cannot be excluded");
  EXPECT_EQ(rating_of(table, 0.86, 0.84, 0.91).text, "good");
  EXPECT_EQ(rating_of(table, 0.86, 0.78, 0.97).text, "good; excellent and fair cannot be excluded");
  EXPECT_EQ(rating_of(table, 0.86, 0.66, 0.97).text,
            "good; excellent, fair and poor cannot be excluded");
  EXPECT_THAT(rating_of(table, 0.86, 0.97, 0.66).not_excluded,
              ElementsAre("excellent", "fair", "poor"));
  EXPECT_TRUE(rating_of(table, 0.86, 0.84, 0.91).limits_given);
}

TEST(Rating, StretchesLimitsThatDoNotHoldTheFigureOrHaveNoEnd) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const RatingTable table = rating_table(RatingTableId::emission_merriam_keller);
  EXPECT_THAT(rating_of(table, 0.75, 0.82, 0.85).not_excluded, ElementsAre("good"));
  EXPECT_THAT(rating_of(table, 0.75, nan, 0.78).not_excluded, ElementsAre("poor"));
  const RatingTable cv = rating_table(RatingTableId::point_emitter_cv_ep405);
  EXPECT_THAT(rating_of(cv, 0.06, 0.05, nan).not_excluded,
              ElementsAre("marginal", "poor", "unacceptable"));
}

TEST(Rating, OfWhatCannotBeIsRefusedInPlainWords) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const RatingTable table = rating_table(RatingTableId::statistical_ep458);
  EXPECT_EQ(rating_of(table, nan).text, "not rated: the figure is not known");
  EXPECT_EQ(rating_of(table, -0.2, -0.5, 0.1).text,
            "not rated: statistical uniformity below 0 is in no class");
  EXPECT_FALSE(rating_of(table, 1.2).rated);
  EXPECT_THAT(rating_of(table, nan, 0.1, 0.2).not_excluded, IsEmpty());
}

TEST(RatingTables, RunFromBestToWorstWithoutOverlap) {
  for (const RatingTableId id : all_rating_tables()) {
    const RatingTable table = rating_table(id);
    SCOPED_TRACE(table.source + ", " + table.measure);
    EXPECT_EQ(table.id, id);
    EXPECT_THAT(table.source, HasSubstr("from memory"));
    const double sign = table.more_is_better ? 1 : -1;
    for (std::size_t i = 0; i < table.classes.size(); ++i) {
      EXPECT_GT(sign * table.classes[i].better, sign * table.classes[i].worse);
      if (i > 0) {
        EXPECT_LE(sign * table.classes[i].better, sign * table.classes[i - 1].worse);
      }
    }
  }
}

// 100 (1 - 1.2711063 CV), the mean of the lowest quarter of a normal distribution, at the limits of
// the statistical classes rounds to the limits of the low-quarter classes (worked out with numpy:
// 93.6 87.3 80.9 74.6 68.2 61.9 55.5 49.2; the last is printed 50).
TEST(RatingTables, OfStatisticalAndLowQuarterUniformityAgreeForNormalEmitters) {
  const RatingTable statistical = rating_table(RatingTableId::statistical_ep458);
  const RatingTable low_quarter = rating_table(RatingTableId::low_quarter_ep458);
  ASSERT_EQ(statistical.classes.size(), low_quarter.classes.size());
  const auto by_normal = [](double uniformity) { return 1 - 1.2711062907 * (1 - uniformity); };
  for (std::size_t i = 0; i + 1 < statistical.classes.size(); ++i) {
    EXPECT_NEAR(by_normal(statistical.classes[i].worse), low_quarter.classes[i].worse, 0.0061);
    EXPECT_NEAR(by_normal(statistical.classes[i + 1].better), low_quarter.classes[i + 1].better,
                0.0085);
  }
}

TEST(RecommendedDesignUniformity, IsLowerOnSteepGroundAndForLineSources) {
  for (const EmitterKind kind : {EmitterKind::wide_point_source, EmitterKind::close_point_source,
                                 EmitterKind::line_source}) {
    const RecommendedRange flat = recommended_design_uniformity(kind, Ground::uniform);
    const RecommendedRange steep = recommended_design_uniformity(kind, Ground::steep);
    EXPECT_LT(flat.lower_frac, flat.upper_frac);
    EXPECT_LT(steep.lower_frac, steep.upper_frac);
    EXPECT_LT(steep.lower_frac, flat.lower_frac);
  }
  // ASAE EP405 (from memory): line source on row crops, 80-90 % and 70-85 %.
  const RecommendedRange line =
      recommended_design_uniformity(EmitterKind::line_source, Ground::steep);
  EXPECT_EQ(line.lower_frac, 0.70);
  EXPECT_EQ(line.upper_frac, 0.85);
}

}  // namespace
}  // namespace evendrip
