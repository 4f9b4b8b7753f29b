// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/measures.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <vector>

#include <boost/random/normal_distribution.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

const std::vector<double> set_d = {1.60, 1.58, 1.62, 1.55, 1.57, 1.61, 1.59, 1.52,
                                   1.54, 1.56, 1.58, 1.50, 1.49, 1.53, 1.20, 0};
const std::vector<double> set_e = {2.1, 2.0, 1.9, 2.2, 2.05, 1.95, 2.15, 1.85, 2.0,
                                   2.1, 1.9, 2.0, 1.7, 1.6,  2.3,  2.0,  1.95, 2.05};
const std::vector<double> fill_times = {64, 79, 67, 71, 75, 81, 68, 85, 75,
                                        69, 85, 77, 89, 68, 81, 90, 65, 61};

// Made sets; expected values worked out with numpy and rounded to the digits shown.
TEST(Measures, AbsoluteEmissionUniformityAndFlowVariationOfMadeSets) {
  const std::vector<double> one_plugged = {0, 1, 1, 1, 1, 1, 1, 1};
  EXPECT_NEAR(100 * absolute_emission_uniformity(std::vector<double>{1, 2, 3, 4}), 51.25, 5e-5);
  EXPECT_NEAR(100 * absolute_emission_uniformity(one_plugged), 72.3214, 5e-5);
  EXPECT_NEAR(100 * absolute_emission_uniformity(set_d), 80.9536, 5e-5);
  EXPECT_NEAR(100 * absolute_emission_uniformity(set_e), 89.1096, 5e-5);
  EXPECT_NEAR(flow_variation(std::vector<double>{1, 2, 3, 4}), 0.75, 1e-12);
  EXPECT_NEAR(100 * flow_variation(set_e), 30.4348, 5e-5);
  EXPECT_EQ(flow_variation(set_d), 1);
}

TEST(Measures, FieldEmissionUniformityIsTheLowQuarterByTheRuleChosen) {
  EXPECT_NEAR(100 * field_emission_uniformity(set_e), 89.3855, 5e-5);
  EXPECT_NEAR(100 * field_emission_uniformity(set_e, QuarterRule::floor), 88.6173, 5e-5);
  EXPECT_NEAR(100 * field_emission_uniformity(set_e, QuarterRule::ceiling), 90.0, 5e-5);
}

TEST(Measures, OfADrySampleAreZero) {
  const std::vector<double> dry(5, 0.0);
  EXPECT_EQ(absolute_emission_uniformity(dry), 0);
  EXPECT_EQ(flow_variation(dry), 0);
  EXPECT_EQ(corrected_low_quarter(dry), 0);
}

// Data: B.Tech semester examination, Sprinkler and Micro Irrigation Systems, 1 January 2024; values
// worked out with numpy.
TEST(FillTimes, AreDataOfTheirOwn) {
  const FillTimes times = measure_fill_times(fill_times);
  EXPECT_EQ(times.emitters, 18);
  EXPECT_NEAR(times.mean_s, 75, 1e-12);
  EXPECT_NEAR(times.cv, 0.118553, 5e-7);
  EXPECT_NEAR(times.statistical_frac, 0.8814, 5e-5);
  EXPECT_NEAR(times.sixths_frac, 0.89127, 5e-6);
  EXPECT_FALSE(measure_fill_times(std::vector<double>{60, 62}).sixths_known);
}

TEST(FillTimes, BecomeDischargesOnlyWithAContainer) {
  const std::vector<double> q = discharges_of_fill_times(std::vector<double>{60, 90}, 25);
  EXPECT_NEAR(q[0], 1.5, 1e-12);
  EXPECT_NEAR(q[1], 1.0, 1e-12);
  EXPECT_NEAR(100 * statistical_uniformity(discharges_of_fill_times(fill_times, 100)), 88.194,
              5e-4);
}

TEST(FillTimes, OfEmittersThatNeverFillAreRefused) {
  EXPECT_THROW(measure_fill_times(std::vector<double>{}), std::invalid_argument);
  EXPECT_THROW(measure_fill_times(std::vector<double>{60, 0}), std::invalid_argument);
  EXPECT_THROW(discharges_of_fill_times(std::vector<double>{60}, 0), std::invalid_argument);
}

/// Mean low-quarter uniformity of samples of n normal emitters less that of all of them.
double simulated_flattery(int n, double cv, QuarterRule rule) {
  std::mt19937_64 stream = item_stream(5, {static_cast<std::uint64_t>(n)});
  boost::random::normal_distribution<double> normal(1, cv);
  double sum = 0;
  constexpr int turns = 40'000;
  std::vector<double> sample(static_cast<std::size_t>(n));
  for (int t = 0; t < turns; ++t) {
    for (double& q : sample) q = std::max(0.0, normal(stream));
    sum += low_quarter_uniformity(sample, rule) / turns;
  }
  return sum - (1 - 1.2711062907 * cv);
}

// 1.320 and 1.294 points by 400,000 samples each in R, at CV 0.2 and n 16 and 18.
TEST(LowQuarterFlattery, IsOnePointThreeAtTheUsualSampleSizes) {
  EXPECT_NEAR(low_quarter_flattery(16, 0.2), 0.01320, 4e-4);
  EXPECT_NEAR(low_quarter_flattery(18, 0.2), 0.01294, 4e-4);
}

TEST(LowQuarterFlattery, AgreesWithSamplesDrawnAtEveryRule) {
  for (const QuarterRule rule :
       {QuarterRule::fractional, QuarterRule::floor, QuarterRule::ceiling}) {
    for (const int n : {7, 18, 36}) {
      EXPECT_NEAR(low_quarter_flattery(n, 0.15, rule), simulated_flattery(n, 0.15, rule), 1.2e-3)
          << n << " " << to_text(rule);
    }
  }
}

TEST(LowQuarterFlattery, FallsAsTheSampleGrowsAndVanishesWithoutVariation) {
  EXPECT_GT(low_quarter_flattery(8, 0.2), low_quarter_flattery(16, 0.2));
  EXPECT_NEAR(low_quarter_flattery(2000, 0.2), 0.5 * low_quarter_flattery(1000, 0.2), 1e-12);
  EXPECT_LT(low_quarter_flattery(1000, 0.2), 3e-4);
  EXPECT_NEAR(low_quarter_flattery(18, 0), 0, 1e-15);
  EXPECT_THROW(low_quarter_flattery(0, 0.2), std::invalid_argument);
  EXPECT_THROW(low_quarter_flattery(18, -0.2), std::invalid_argument);
}

TEST(CorrectedLowQuarter, IsThePublishedFigureLessItsFlattery) {
  const double cv = coefficient_of_variation(set_e);
  EXPECT_NEAR(low_quarter_uniformity(set_e) - corrected_low_quarter(set_e),
              low_quarter_flattery(18, cv), 1e-12);
  EXPECT_EQ(corrected_low_quarter(std::vector<double>{1.4}), 1);
}

}  // namespace
}  // namespace evendrip
