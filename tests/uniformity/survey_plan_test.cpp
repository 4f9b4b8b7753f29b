// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/survey_plan.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <stdexcept>
#include <string>
#include <vector>

#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

constexpr auto low_quarter = PlannedMeasure::low_quarter_uniformity;

/// CV 6 %, the first `plugged` of them on laterals one after the other give nothing.
EmitterSample survey(int laterals, int each, int plugged, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {1});
  boost::random::normal_distribution<double> normal(2, 0.12);
  EmitterSample sample;
  for (int i = 0; i < laterals * each; ++i) {
    SampledEmitter e;
    e.discharge_lph = i < plugged ? 0 : normal(stream);
    e.lateral = i % laterals;
    e.place = i;
    sample.emitters.push_back(e);
  }
  return sample;
}

PlanOptions wanted(double half_width_frac) {
  PlanOptions options;
  options.half_width_frac = half_width_frac;
  options.laterals = 40;
  options.emitters_on_a_lateral = 200;
  return options;
}

TEST(PlanForLimits, ReachesTheHalfWidthAndWithOneLateralLessDoesNot) {
  const PlanOptions options = wanted(0.12);
  for (const int plugged : {0, 3}) {
    const EmitterSample first = survey(12, 6, plugged, 5);
    const SamplingPlan plan = plan_for_limits(first, low_quarter, options);
    ASSERT_TRUE(plan.found) << plan.why_not;
    EXPECT_EQ(plan.emitters, plan.laterals * plan.emitters_on_each);
    EXPECT_LE(plan.assured_half_width_frac, options.half_width_frac);
    EXPECT_LE(plan.expected_half_width_frac, plan.assured_half_width_frac);
    const ForeseenHalfWidth same =
        foreseen_half_width(first, low_quarter, plan.laterals, plan.emitters_on_each, options);
    EXPECT_EQ(same.assured_frac, plan.assured_half_width_frac);
    if (plan.laterals == 6) continue;
    const ForeseenHalfWidth less =
        foreseen_half_width(first, low_quarter, plan.laterals - 1, plan.emitters_on_each, options);
    EXPECT_GT(less.assured_frac, options.half_width_frac);
  }
}

TEST(PlanForLimits, AsksForMoreWherePluggedOnesWereSeenAndForLessAfterALargerCleanSurvey) {
  const PlanOptions options = wanted(0.10);
  const auto cost = [&](const EmitterSample& first) {
    return plan_for_limits(first, low_quarter, options).cost;
  };
  EXPECT_GT(cost(survey(12, 6, 4, 5)), 1.5 * cost(survey(12, 6, 0, 5)));
  EXPECT_GT(cost(survey(6, 3, 0, 5)), 1.3 * cost(survey(12, 6, 0, 5)));
}

TEST(PlanForLimits, TakesAtLeastSixLateralsWhereThereAreSo) {
  PlanOptions options = wanted(0.45);
  options.lateral_cost = 100;
  const SamplingPlan plan = plan_for_limits(survey(12, 6, 0, 5), low_quarter, options);
  ASSERT_TRUE(plan.found);
  EXPECT_GE(plan.laterals, 6);
}

TEST(PlanForLimits, SaysSoWhenNoPlanIsThatSure) {
  PlanOptions options = wanted(0.001);
  options.emitters_on_a_lateral = 0;
  options.laterals = 0;
  options.most_emitters_on_a_lateral = 3;
  const SamplingPlan plan = plan_for_limits(survey(12, 6, 4, 5), low_quarter, options);
  EXPECT_FALSE(plan.found);
  EXPECT_EQ(plan.why_not, "no plan of at most 1000 laterals with 3 emitters on each is that sure");
}

TEST(ForeseenHalfWidth, IsNarrowerWhereTheZoneIsSmall) {
  PlanOptions options = wanted(0.1);
  const EmitterSample first = survey(12, 6, 2, 5);
  const double large = foreseen_half_width(first, low_quarter, 30, 10, options).assured_frac;
  options.laterals = 30;
  options.emitters_on_a_lateral = 12;
  const double small = foreseen_half_width(first, low_quarter, 30, 10, options).assured_frac;
  EXPECT_LT(small, 0.7 * large);
  options.emitters_on_a_lateral = 10;
  EXPECT_NEAR(foreseen_half_width(first, low_quarter, 30, 10, options).assured_frac, 0, 1e-9);
}

// The half-width foreseen for the survey itself is near that of its own limits.
TEST(ForeseenHalfWidth, OfTheMiddleSurveyIsNearWhatTheLimitsShow) {
  const PlanOptions options = wanted(0.1);
  for (const PlannedMeasure measure : {PlannedMeasure::mean, PlannedMeasure::statistical_uniformity,
                                       low_quarter, PlannedMeasure::christiansen}) {
    const EmitterSample sample = survey(30, 10, 15, 5);
    LimitOptions limits;
    limits.comparisons = false;
    limits.plugging.zone = {options.laterals, options.emitters_on_a_lateral};
    const auto shown = printed_half_width(
        confidence_limits(sample, limits).of(limits_measure(measure)).two_part, measure);
    ASSERT_TRUE(shown.has_value());
    const double foreseen = foreseen_half_width(sample, measure, 30, 10, options).expected_frac;
    EXPECT_NEAR(foreseen / *shown, 1, 0.2) << to_text(measure);
  }
}

TEST(JudgedByLimits, TellsTheHalfWidthThatIsPrinted) {
  const EmitterSample sample = survey(9, 4, 0, 5);
  Limits printed;
  printed.known = true;
  printed.estimate = 0.8;
  printed.lower = 0.6;
  printed.upper = 0.9;
  const SampleJudgement narrow = judged_by_limits(sample, printed, low_quarter, wanted(0.16));
  EXPECT_NEAR(*narrow.half_width_frac, 0.15, 1e-12);
  EXPECT_TRUE(narrow.enough);
  EXPECT_EQ(narrow.text,
            "36 emitters on 9 laterals tell within 15.0 points of low-quarter uniformity; 16.0 "
            "points of low-quarter uniformity wanted: enough");
  EXPECT_FALSE(judged_by_limits(sample, printed, low_quarter, wanted(0.14)).enough);
  const SampleJudgement mean =
      judged_by_limits(sample, printed, PlannedMeasure::mean, wanted(0.14));
  EXPECT_NEAR(*mean.half_width_frac, 0.15 / 0.8, 1e-12);
  EXPECT_FALSE(mean.enough);
}

TEST(JudgedByLimits, SaysPlainlyWhyNothingIsPlanned) {
  const auto why = [](const EmitterSample& sample) {
    const SampleJudgement judged = judged_by_limits(sample, {}, low_quarter, wanted(0.1));
    EXPECT_FALSE(judged.enough);
    EXPECT_FALSE(judged.half_width_frac.has_value());
    EXPECT_FALSE(judged.plan.found);
    EXPECT_NE(judged.text.find("cannot be told"), std::string::npos);
    return judged.plan.why_not;
  };
  EXPECT_EQ(why({}), "no emitter has a discharge");
  EXPECT_EQ(why(survey(1, 1, 0, 5)), "fewer than four emitters run: they plan no survey");
  EXPECT_EQ(why(survey(6, 3, 18, 5)), "fewer than four emitters run: they plan no survey");
  EXPECT_FALSE(why(survey(1, 12, 0, 5)).empty());
  EmitterSample alike = survey(6, 3, 0, 5);
  for (SampledEmitter& e : alike.emitters) e.discharge_lph = 1.6;
  EXPECT_FALSE(why(alike).empty());
  EmitterSample lost = survey(6, 3, 0, 5);
  for (SampledEmitter& e : lost.emitters) e.lateral = -1;
  EXPECT_EQ(why(lost), "no emitter has a discharge");
}

TEST(PlanForLimits, RefusesNegativeDischargesAndImpossibleOptions) {
  EmitterSample sample = survey(6, 3, 0, 5);
  EXPECT_THROW(plan_for_limits(sample, low_quarter, wanted(0)), std::invalid_argument);
  EXPECT_THROW(foreseen_half_width(sample, low_quarter, 0, 3, wanted(0.1)), std::invalid_argument);
  sample.emitters[0].discharge_lph = -1;
  EXPECT_THROW(plan_for_limits(sample, low_quarter, wanted(0.1)), std::invalid_argument);
  sample.emitters[0].discharge_lph = std::nan("");
  EXPECT_THROW(judged_by_limits(sample, {}, low_quarter, wanted(0.1)), std::invalid_argument);
}

// Small samples of every kind, zones told too small or not at all.
TEST(PlanForLimits, IsFiniteOrSaysWhyNotOnInventedSamplesOfEveryKind) {
  boost::random::uniform_01<double> even;
  for (std::uint64_t seed = 1; seed <= 150; ++seed) {
    std::mt19937_64 stream = item_stream(seed, {9});
    EmitterSample sample = survey(1 + static_cast<int>(7 * even(stream)),
                                  1 + static_cast<int>(5 * even(stream)), 0, seed);
    const double dry = even(stream);
    const double coarse = even(stream) < 0.3 ? 0.5 : 1e-6;
    for (SampledEmitter& e : sample.emitters) {
      e.discharge_lph = coarse * std::floor(e.discharge_lph / coarse);
      if (even(stream) < dry * dry) e.discharge_lph = 0;
      if (even(stream) < 0.05) e.lateral = -1;
      if (even(stream) < 0.02) e.discharge_lph *= 1e6;
    }
    PlanOptions options;
    options.half_width_frac = 0.02 + 0.3 * even(stream);
    options.laterals = static_cast<int>(9 * even(stream));
    options.emitters_on_a_lateral = static_cast<int>(9 * even(stream));
    options.most_emitters_on_a_lateral = 8;
    if (options.laterals == 0) continue;
    for (const PlannedMeasure measure : {PlannedMeasure::mean, low_quarter}) {
      SCOPED_TRACE(seed);
      const SamplingPlan plan = plan_for_limits(sample, measure, options);
      EXPECT_EQ(plan.found, plan.why_not.empty());
      if (!plan.found) continue;
      EXPECT_LE(plan.laterals, options.laterals);
      EXPECT_GE(plan.assured_half_width_frac, 0);
      EXPECT_LE(plan.assured_half_width_frac, options.half_width_frac);
    }
  }
}

}  // namespace
}  // namespace evendrip
