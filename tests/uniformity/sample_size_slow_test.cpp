// SPDX-License-Identifier: Apache-2.0
// Surveys drawn to the size that a plan asks for: does it keep its promise?
#include "evendrip/uniformity/sample_size.hpp"

#include "drawn_surveys.hpp"
#include "evendrip/uniformity/uniformity.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <random>
#include <vector>

namespace evendrip {
namespace {

using namespace drawn;

struct Kept {
  double reached = 0;  ///< share of surveys with the wanted half-width
  double covered = 0;  ///< share whose limits hold the truth
};

/// Surveys of the planned size from the laterals that the plan was made for.
Kept promise_kept(PlannedMeasure measure, double cv, double share, double half_width) {
  PlanOptions options;
  options.half_width_frac = half_width;
  const SamplingPlan plan = cheapest_plan(normal_plan_components(cv, share, measure), options);
  std::mt19937_64 stream(21);
  const double truth = measure == PlannedMeasure::mean                     ? 1
                       : measure == PlannedMeasure::statistical_uniformity ? 1 - cv
                       : measure == PlannedMeasure::christiansen           ? 1 - 0.7978845608 * cv
                                                                           : 1 - 1.2711062907 * cv;
  constexpr int surveys = 1000;
  Kept kept;
  for (int i = 0; i < surveys; ++i) {
    const Sample survey = drawn_survey(plan.laterals, plan.emitters_on_each, cv * std::sqrt(share),
                                       cv * std::sqrt(1 - share), stream);
    const SampleJudgement judged = judged_sample(survey, measure, options);
    const double estimate = measured(values_of(survey), measure);
    if (judged.enough) kept.reached += 1.0 / surveys;
    const double unit = measure == PlannedMeasure::mean ? estimate : 1;
    if (std::abs(estimate - truth) <= unit * *judged.half_width_frac) kept.covered += 1.0 / surveys;
  }
  return kept;
}

// Normal emitters, CV 0.2, three tenths of the variance between laterals, 5 points wanted. Seen:
// the half-width is reached by 91 to 95 % of the surveys, the truth held by 93.6 to 95.1 %.
TEST(CheapestPlan, KeepsItsPromiseInNineSurveysOfTen) {
  for (const PlannedMeasure measure : all_measures()) {
    const Kept kept = promise_kept(measure, 0.2, 0.3, 0.05);
    // Three standard errors of a share of 1,000 surveys are 0.028 and 0.021.
    EXPECT_GE(kept.reached, 0.872) << to_text(measure);
    EXPECT_GE(kept.covered, 0.929) << to_text(measure);
  }
}

}  // namespace
}  // namespace evendrip
