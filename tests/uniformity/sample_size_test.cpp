// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/sample_size.hpp"

#include "drawn_surveys.hpp"
#include "evendrip/uniformity/uniformity.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numeric>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using namespace drawn;

using testing::HasSubstr;
using testing::IsEmpty;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
TEST(InfluenceValues, SumToZero) {
  std::mt19937_64 stream(2);
  for (const int n : {4, 18, 19, 21, 40}) {
    const std::vector<double> sample = values_of(drawn_survey(1, n, 0, 0.3, stream));
    for (const PlannedMeasure measure : all_measures()) {
      const std::vector<double> values = influence_values(sample, measure);
      EXPECT_NEAR(std::accumulate(values.begin(), values.end(), 0.0), 0, 1e-12) << n;
    }
  }
}

// The definition: what a measure changes by when one emitter counts a little more.
TEST(InfluenceValues, AreWhatAnEmitterThatCountsMoreChanges) {
  std::mt19937_64 stream(4);
  const std::vector<double> sample = values_of(drawn_survey(1, 18, 0, 0.2, stream));
  constexpr int copies = 400;
  std::vector<double> many;
  for (int i = 0; i < copies; ++i) many.insert(many.end(), sample.begin(), sample.end());
  const double mean = mean_of(sample);
  for (const PlannedMeasure measure : all_measures()) {
    const std::vector<double> values = influence_values(sample, measure);
    const double unit = measure == PlannedMeasure::mean ? mean : 1;
    for (std::size_t i = 0; i < sample.size(); ++i) {
      std::vector<double> more = many;
      more.push_back(sample[i]);
      const double share = 1.0 / static_cast<double>(more.size());
      const double change = (measured(more, measure) - measured(many, measure)) / share / unit;
      EXPECT_NEAR(values[i], change, 2e-3) << to_text(measure) << ", emitter " << i;
    }
  }
}

TEST(InfluenceValues, OfNothingAreNone) {
  EXPECT_THAT(influence_values({}, PlannedMeasure::mean), IsEmpty());
  EXPECT_THAT(influence_values(std::vector<double>{0, 0}, PlannedMeasure::mean), IsEmpty());
  EXPECT_THAT(influence_values(std::vector<double>{1, -1}, PlannedMeasure::mean), IsEmpty());
  EXPECT_THAT(influence_values(std::vector<double>{1, nan}, PlannedMeasure::mean), IsEmpty());
}

TEST(NormalPlanComponents, HaveClosedForms) {
  for (const double cv : {0.05, 0.2, 0.4}) {
    for (const double share : {0.0, 0.3, 1.0}) {
      const PlanComponents mean = normal_plan_components(cv, share, PlannedMeasure::mean);
      EXPECT_NEAR(mean.between, share * cv * cv, 1e-12);
      EXPECT_NEAR(mean.within, (1 - share) * cv * cv, 1e-12);
      EXPECT_NEAR(mean.shape.excess_kurtosis(3), 0, 1e-9);
      // The square of a normal variable has variance 2; that of a lateral's part 2 share^2.
      const PlanComponents statistical =
          normal_plan_components(cv, share, PlannedMeasure::statistical_uniformity);
      const double whole = cv * cv * (0.5 + cv * cv);
      EXPECT_NEAR(statistical.between, cv * cv * (0.5 * share * share + share * cv * cv), 1e-12);
      EXPECT_NEAR(statistical.between + statistical.within, whole, 1e-12);
      // Mean deviation of a normal variable: 0.79788 cv, variance of |z| 1 - 2/pi.
      const PlanComponents christiansen =
          normal_plan_components(cv, 0, PlannedMeasure::christiansen);
      EXPECT_NEAR(christiansen.within,
                  cv * cv * (1 - 0.6366197724) + 0.6366197724 * cv * cv * cv * cv, 3e-4 * cv * cv);
    }
  }
}

TEST(NormalPlanComponents, AreWhatLargeDrawnSurveysShow) {
  std::mt19937_64 stream(8);
  const double cv = 0.2;
  const double share = 0.4;
  const Sample survey =
      drawn_survey(3000, 4, cv * std::sqrt(share), cv * std::sqrt(1 - share), stream);
  for (const PlannedMeasure measure : all_measures()) {
    const PlanComponents drawn = plan_components(survey, measure);
    const PlanComponents normal = normal_plan_components(cv, share, measure);
    ASSERT_TRUE(drawn.computed);
    // 3,000 laterals: standard errors of 3 to 5 % for squares of normal variables.
    EXPECT_NEAR(drawn.within, normal.within, 0.1 * normal.within) << to_text(measure);
    EXPECT_NEAR(drawn.between, normal.between, 0.15 * normal.between + 0.02 * normal.within)
        << to_text(measure);
  }
}

PlanOptions options_for(double half_width) {
  PlanOptions options;
  options.half_width_frac = half_width;
  return options;
}

TEST(PlannedHalfWidth, OfACensusIsZero) {
  PlanOptions options;
  options.laterals = 12;
  options.emitters_on_a_lateral = 30;
  const PlanComponents components = normal_plan_components(0.2, 0.3, PlannedMeasure::mean);
  EXPECT_EQ(planned_half_width(components, 12, 30, options).assured_frac, 0);
  EXPECT_GT(planned_half_width(components, 12, 29, options).assured_frac, 0);
}

TEST(PlannedHalfWidth, HasTheVarianceOfTwoStageSampling) {
  PlanOptions options;
  options.laterals = 20;
  options.emitters_on_a_lateral = 50;
  PlanComponents components;
  components.computed = true;
  components.between = 0.03;
  components.within = 0.05;
  for (const int m : {2, 7, 20}) {
    for (const int k : {2, 9, 50}) {
      const double expected =
          0.03 * (1.0 / m - 1.0 / 20) + 0.05 * (1.0 / (m * k) - 1.0 / (20 * 50));
      EXPECT_NEAR(planned_half_width(components, m, k, options).variance, expected, 1e-15);
    }
  }
}

TEST(PlannedHalfWidth, OfOneLateralOutOfManyHasNoEnd) {
  const PlanComponents components = normal_plan_components(0.2, 0.3, PlannedMeasure::mean);
  EXPECT_TRUE(std::isinf(planned_half_width(components, 1, 10, PlanOptions{}).assured_frac));
  PlanOptions alone;
  alone.laterals = 1;
  EXPECT_TRUE(std::isfinite(planned_half_width(components, 1, 10, alone).assured_frac));
}

/// By looking at every plan.
double least_cost(const PlanComponents& components, const PlanOptions& options) {
  double least = std::numeric_limits<double>::infinity();
  for (int m = 1; m <= options.laterals; ++m) {
    for (int k = 1; k <= std::min(options.emitters_on_a_lateral, 40); ++k) {
      if (planned_half_width(components, m, k, options).assured_frac <= options.half_width_frac) {
        least = std::min(least, m * options.lateral_cost + m * k * options.emitter_cost);
      }
    }
  }
  return least;
}

TEST(CheapestPlan, IsTheCheapestOfAll) {
  for (const double lateral_cost : {0.5, 4.0, 20.0}) {
    for (const double share : {0.1, 0.6}) {
      PlanOptions options = options_for(0.06);
      options.lateral_cost = lateral_cost;
      options.laterals = 60;
      options.emitters_on_a_lateral = 35;
      const PlanComponents components =
          normal_plan_components(0.25, share, PlannedMeasure::low_quarter_uniformity);
      const SamplingPlan plan = cheapest_plan(components, options);
      ASSERT_TRUE(plan.found);
      EXPECT_NEAR(plan.cost, least_cost(components, options), 1e-9);
      EXPECT_LE(plan.assured_half_width_frac, 0.06);
      EXPECT_EQ(plan.emitters, plan.laterals * plan.emitters_on_each);
    }
  }
}

// Cochran 1977 (from memory): at least cost k = sqrt(lateral cost / emitter cost x within /
// between), where laterals are many enough that their count does not matter to the quantiles.
TEST(CheapestPlan, OfManyLateralsFollowsTheRuleOfTwoStageSampling) {
  PlanComponents components;
  components.computed = true;
  components.between = 0.02;
  components.within = 0.08;
  PlanOptions options = options_for(0.02);
  options.lateral_cost = 9;
  const SamplingPlan plan = cheapest_plan(components, options);
  ASSERT_TRUE(plan.found);
  EXPECT_NEAR(plan.emitters_on_each, std::sqrt(9 * 0.08 / 0.02), 1);
  EXPECT_GT(plan.laterals, 100);
}

TEST(CheapestPlan, AsksForMoreLateralsWhereTheyDifferOrCostLess) {
  const auto laterals = [](double share, double cost) {
    PlanOptions options = options_for(0.05);
    options.lateral_cost = cost;
    return cheapest_plan(normal_plan_components(0.2, share, PlannedMeasure::mean), options)
        .laterals;
  };
  EXPECT_GT(laterals(0.6, 4), laterals(0.05, 4));
  EXPECT_GT(laterals(0.3, 1), laterals(0.3, 20));
}

TEST(CheapestPlan, SaysSoWhenThereIsNone) {
  PlanOptions options = options_for(0.001);
  const SamplingPlan plan =
      cheapest_plan(normal_plan_components(0.4, 0.5, PlannedMeasure::mean), options);
  EXPECT_FALSE(plan.found);
  EXPECT_THAT(plan.why_not, HasSubstr("at most 1000 laterals"));
  PlanComponents none;
  none.why_not = "no emitter gives water";
  EXPECT_EQ(cheapest_plan(none, options).why_not, "no emitter gives water");
}

TEST(JudgedSample, TellsASmallSampleFromALargeOne) {
  std::mt19937_64 stream(6);
  const PlanOptions options = options_for(0.05);
  const SampleJudgement small = judged_sample(drawn_survey(6, 3, 0.1, 0.15, stream),
                                              PlannedMeasure::low_quarter_uniformity, options);
  ASSERT_TRUE(small.half_width_frac.has_value());
  EXPECT_FALSE(small.enough);
  EXPECT_THAT(small.text, HasSubstr("18 emitters on 6 laterals tell within"));
  EXPECT_THAT(small.text, HasSubstr("not enough"));
  EXPECT_THAT(small.text, HasSubstr(small.plan.text));
  EXPECT_GT(small.plan.emitters, 18);
  const SampleJudgement large = judged_sample(drawn_survey(60, 6, 0.1, 0.15, stream),
                                              PlannedMeasure::low_quarter_uniformity, options);
  EXPECT_TRUE(large.enough);
  EXPECT_LT(*large.half_width_frac, *small.half_width_frac);
}

TEST(JudgedSample, OfOneEmitterOnEachLateralCountsAllToTheLaterals) {
  std::mt19937_64 stream(6);
  const SampleJudgement judged =
      judged_sample(drawn_survey(12, 1, 0, 0.2, stream), PlannedMeasure::mean, PlanOptions{});
  ASSERT_TRUE(judged.components.computed);
  EXPECT_EQ(judged.components.within, 0);
  EXPECT_THAT(judged.components.remark, HasSubstr("one emitter was dug on every lateral"));
  EXPECT_EQ(judged.plan.emitters_on_each, 1);
}

TEST(JudgedSample, OfBadInputIsAStatementNeverNan) {
  const std::vector<Sample> samples = {
      {},
      {{1, 0}},
      {{1, 0}, {1.1, 0}, {0.9, 0}},
      {{0, 0}, {0, 0}, {0, 1}},
      {{1, 0}, {1, 0}, {1, 1}, {1, 1}},
      {{1, 0}, {-1, 0}, {1, 1}},
      {{1, 0}, {nan, 0}, {1, 1}},
      {{1, -1}, {1.2, -1}, {1, 1}},
  };
  for (const Sample& sample : samples) {
    for (const PlannedMeasure measure : all_measures()) {
      const SampleJudgement judged = judged_sample(sample, measure, PlanOptions{});
      EXPECT_FALSE(judged.half_width_frac.has_value()) << sample.size();
      EXPECT_FALSE(judged.enough);
      EXPECT_FALSE(judged.plan.found);
      EXPECT_THAT(judged.text, HasSubstr("cannot be told: "));
      EXPECT_FALSE(judged.components.why_not.empty()) << sample.size();
      EXPECT_TRUE(std::isfinite(judged.components.between + judged.components.within));
    }
  }
}

TEST(JudgedSample, OfEveryEmitterOfTheZoneIsSureOfIt) {
  std::mt19937_64 stream(6);
  PlanOptions options = options_for(0.05);
  const Sample census = drawn_survey(6, 3, 0.1, 0.15, stream);
  options.laterals = 6;
  options.emitters_on_a_lateral = 3;
  const SampleJudgement judged = judged_sample(census, PlannedMeasure::mean, options);
  ASSERT_TRUE(judged.half_width_frac.has_value());
  EXPECT_EQ(*judged.half_width_frac, 0);
  EXPECT_TRUE(judged.enough);
  // More records than the zone is said to hold do no harm.
  options.laterals = 4;
  options.emitters_on_a_lateral = 2;
  EXPECT_EQ(*judged_sample(census, PlannedMeasure::mean, options).half_width_frac, 0);
}

TEST(PlanOptions, ThatCannotBeAreRefused) {
  const PlanComponents components = normal_plan_components(0.2, 0.3, PlannedMeasure::mean);
  for (const double bad : {0.0, -1.0, nan}) {
    PlanOptions options;
    options.half_width_frac = bad;
    EXPECT_THROW(cheapest_plan(components, options), std::invalid_argument);
    options = {};
    options.lateral_cost = bad;
    EXPECT_THROW(cheapest_plan(components, options), std::invalid_argument);
    options = {};
    options.assurance = bad;
    EXPECT_THROW(cheapest_plan(components, options), std::invalid_argument);
  }
  EXPECT_THROW(planned_half_width(components, 0, 3, PlanOptions{}), std::invalid_argument);
  EXPECT_THROW(normal_plan_components(nan, 0.3, PlannedMeasure::mean), std::invalid_argument);
  EXPECT_THROW(normal_plan_components(0.2, 1.3, PlannedMeasure::mean), std::invalid_argument);
}

TEST(ChanceToMissPlugged, OfAFinitePopulationIsThatWithoutReplacement) {
  // 3 of 10 plugged, 4 dug: 7/10 x 6/9 x 5/8 x 4/7 = 1/6, by hand.
  EXPECT_NEAR(chance_to_miss_plugged(0.3, 4, 10), 1.0 / 6, 1e-12);
  EXPECT_EQ(chance_to_miss_plugged(0.3, 8, 10), 0);
  EXPECT_EQ(chance_to_miss_plugged(0.3, 20, 10), 0);
  EXPECT_EQ(chance_to_miss_plugged(0, 20, 10), 1);
  EXPECT_NEAR(chance_to_miss_plugged(0.05, 18, 10'000'000), chance_to_miss_plugged(0.05, 18), 1e-6);
  EXPECT_THROW(chance_to_miss_plugged(1.2, 4), std::invalid_argument);
  EXPECT_THROW(chance_to_miss_plugged(nan, 4), std::invalid_argument);
}

TEST(EmittersToMeetPlugged, IsTheSmallestThatMeetsThem) {
  for (const int population : {0, 50, 700}) {
    for (const double share : {0.02, 0.1, 0.5}) {
      const int n = emitters_to_meet_plugged(share, 0.05, population);
      EXPECT_LE(chance_to_miss_plugged(share, n, population), 0.05);
      EXPECT_GT(chance_to_miss_plugged(share, n - 1, population), 0.05);
    }
  }
  EXPECT_EQ(emitters_to_meet_plugged(1, 0.05), 1);
  // Fewer than half an emitter plugged: even all of them show none.
  EXPECT_EQ(emitters_to_meet_plugged(0.001, 0.05, 100), 100);
  EXPECT_THROW(emitters_to_meet_plugged(0, 0.05), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
