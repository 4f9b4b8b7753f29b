// SPDX-License-Identifier: Apache-2.0
// Sample sizes against tables worked out with numpy from published formulas.
#include "evendrip/uniformity/sample_size.hpp"

#include <gtest/gtest.h>
#include <boost/math/distributions/normal.hpp>

#include <cmath>
#include <cstddef>
#include <vector>

namespace evendrip {
namespace {

// n = (z CV/d)^2 with z 1.96 (Cochran 1977, from memory), for relative errors of 2, 5 and 10 %;
// worked out with numpy.
TEST(SampleSizeReference, ForTheMean) {
  struct Row {
    double cv;
    int at_2_pct, at_5_pct, at_10_pct;
  };
  for (const Row& row : {Row{0.10, 97, 16, 4}, Row{0.20, 385, 62, 16}, Row{0.30, 865, 139, 35},
                         Row{0.40, 1537, 246, 62}}) {
    EXPECT_EQ(emitters_for_mean(row.cv, 0.02), row.at_2_pct);
    EXPECT_EQ(emitters_for_mean(row.cv, 0.05), row.at_5_pct);
    EXPECT_EQ(emitters_for_mean(row.cv, 0.10), row.at_10_pct);
  }
  // 385 of 1,000: 384.15/(1 + 0.38415) = 277.5.
  EXPECT_EQ(emitters_for_mean(0.20, 0.02, 0.95, 1000), 278);
}

// Half-widths on statistical uniformity in points at 95 %: 1.96 CV sqrt((1 + 2 CV^2)/(2 n)), the
// large-sample form; worked out with numpy. Its variance is that of a plan on independent emitters.
TEST(SampleSizeReference, LargeSampleHalfWidthOnStatisticalUniformity) {
  struct Row {
    int emitters;
    std::vector<double> points;  // at uniformities of 60, 70, 80, 90, 95 %
  };
  const std::vector<Row> table = {
      {9, {21.2, 15.1, 9.6, 4.7, 2.3}},  {16, {15.9, 11.3, 7.2, 3.5, 1.7}},
      {18, {15.0, 10.6, 6.8, 3.3, 1.6}}, {24, {13.0, 9.2, 5.9, 2.9, 1.4}},
      {32, {11.3, 8.0, 5.1, 2.5, 1.2}},  {36, {10.6, 7.5, 4.8, 2.3, 1.2}},
      {54, {8.7, 6.1, 3.9, 1.9, 0.9}},   {72, {7.5, 5.3, 3.4, 1.6, 0.8}},
      {100, {6.4, 4.5, 2.9, 1.4, 0.7}},  {144, {5.3, 3.8, 2.4, 1.2, 0.6}}};
  const std::vector<double> cvs = {0.40, 0.30, 0.20, 0.10, 0.05};
  const double z = quantile(boost::math::normal_distribution<double>(), 0.975);
  for (const Row& row : table) {
    for (std::size_t i = 0; i < cvs.size(); ++i) {
      const PlanComponents components =
          normal_plan_components(cvs[i], 0, PlannedMeasure::statistical_uniformity);
      const double variance =
          planned_half_width(components, row.emitters, 1, PlanOptions{}).variance;
      EXPECT_NEAR(100 * z * std::sqrt(variance), row.points[i], 0.0501)
          << row.emitters << " emitters, CV " << cvs[i];
    }
  }
}

// Chance to see none when 5 % are plugged: 39.7, 15.8, 4.8 % at 18, 36, 59 emitters (worked out
// with numpy); a small sample misses plugged emitters and flatters the system (Camp, Sadler &
// Busscher, "A comparison of uniformity measures for drip irrigation systems", Trans. ASAE,
// abstract).
TEST(SampleSizeReference, ChanceToMissPluggedEmitters) {
  EXPECT_NEAR(chance_to_miss_plugged(0.05, 18), 0.397, 5e-4);
  EXPECT_NEAR(chance_to_miss_plugged(0.05, 36), 0.158, 5e-4);
  EXPECT_NEAR(chance_to_miss_plugged(0.05, 59), 0.048, 5e-4);
  EXPECT_EQ(emitters_to_meet_plugged(0.05, 0.05), 59);
}

}  // namespace
}  // namespace evendrip
