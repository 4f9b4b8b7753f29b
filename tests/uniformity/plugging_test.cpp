// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/plugging.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

namespace evendrip {
namespace {

/// Laterals of four emitters; the number plugged on each.
EmitterSample laterals_of_four(const std::vector<int>& plugged) {
  EmitterSample sample;
  for (std::size_t l = 0; l < plugged.size(); ++l) {
    for (int e = 0; e < 4; ++e) {
      SampledEmitter emitter;
      emitter.discharge_lph = e < plugged[l] ? 0 : 1;
      emitter.lateral = static_cast<int>(l);
      emitter.place = e;
      sample.emitters.push_back(emitter);
    }
  }
  return sample;
}

// R 4.2 binom.test, which gives the limits of Clopper & Pearson 1934.
TEST(ExactShareLimits, AgreeWithBinomTestOfR) {
  const ShareLimits one = exact_share_limits(1, 18, 0.95);
  EXPECT_NEAR(one.lower, 0.001405556, 5e-10);
  EXPECT_NEAR(one.upper, 0.2729436, 5e-8);
  const ShareLimits three = exact_share_limits(3, 72, 0.95);
  EXPECT_NEAR(three.lower, 0.008676497, 5e-10);
  EXPECT_NEAR(three.upper, 0.1169748, 5e-8);
}

TEST(ExactShareLimits, OfNoneAndOfAllHaveTheirClosedForms) {
  const ShareLimits none = exact_share_limits(0, 18, 0.95);
  EXPECT_EQ(none.lower, 0);
  EXPECT_NEAR(none.upper, 1 - std::pow(0.025, 1.0 / 18), 1e-12);
  const ShareLimits all = exact_share_limits(18, 18, 0.95);
  EXPECT_NEAR(all.lower, std::pow(0.025, 1.0 / 18), 1e-12);
  EXPECT_EQ(all.upper, 1);
  EXPECT_EQ(exact_share_limits(0, 0, 0.95).upper, 1);
}

TEST(ExactShareLimits, RefuseWhatIsNoShare) {
  EXPECT_THROW(exact_share_limits(-1, 18, 0.95), std::invalid_argument);
  EXPECT_THROW(exact_share_limits(19, 18, 0.95), std::invalid_argument);
  EXPECT_THROW(exact_share_limits(1, 18, 1), std::invalid_argument);
}

// (1 - p)^n, percent to one decimal.
TEST(ChanceOfMissing, OfIndependentEmittersIsThePower) {
  EXPECT_NEAR(chance_of_missing(0.05, 18), 0.397, 5e-4);
  EXPECT_NEAR(chance_of_missing(0.05, 36), 0.158, 5e-4);
  EXPECT_NEAR(chance_of_missing(0.05, 59), 0.048, 5e-4);
  EXPECT_THROW(chance_of_missing(1.5, 18), std::invalid_argument);
  EXPECT_THROW(chance_of_missing(0.5, -1), std::invalid_argument);
}

TEST(ChanceOfMissing, GrowsWithClusteringFromSingleEmittersToWholeLaterals) {
  const std::vector<int> six_of_three(6, 3);
  EXPECT_NEAR(chance_of_missing(0.05, six_of_three, 0), chance_of_missing(0.05, 18), 1e-12);
  EXPECT_NEAR(chance_of_missing(0.05, six_of_three, 0.999999), std::pow(0.95, 6), 1e-5);
  double before = 0;
  for (const double correlation : {0.0, 0.1, 0.3, 0.6, 0.9}) {
    const double chance = chance_of_missing(0.05, six_of_three, correlation);
    EXPECT_GT(chance, before);
    before = chance;
  }
  EXPECT_THROW(chance_of_missing(0.05, six_of_three, 1), std::invalid_argument);
}

// Two emitters of one lateral: both spared with chance (1-p)^2 + rho p (1-p), by the meaning of a
// correlation.
TEST(ChanceOfMissing, OfTwoNeighboursFollowsTheirCorrelation) {
  EXPECT_NEAR(chance_of_missing(0.2, std::vector<int>{2}, 0.3), 0.64 + 0.3 * 0.16, 1e-12);
}

TEST(MeasurePlugging, TakesTheAssumedCorrelationWhereTheSampleShowsNone) {
  const PluggedShare plugged = measure_plugging(laterals_of_four({0, 0, 0, 0, 0, 0}));
  EXPECT_EQ(plugged.plugged, 0);
  EXPECT_EQ(plugged.laterals, 6);
  EXPECT_TRUE(plugged.correlation_assumed);
  EXPECT_NEAR(plugged.effective_emitters, 24 / 1.3, 1e-12);
  EXPECT_NEAR(plugged.exact.upper, 1 - std::pow(0.025, 1.0 / 24), 1e-12);
  EXPECT_GT(plugged.clustered.upper, plugged.exact.upper);
  ASSERT_EQ(plugged.missed.size(), 3U);
  EXPECT_NEAR(plugged.missed[1].independent, std::pow(0.95, 24), 1e-12);
  EXPECT_GT(plugged.missed[1].clustered, plugged.missed[1].independent);
}

TEST(MeasurePlugging, CountsLateralsAloneWherePluggingStrikesWholeOnes) {
  const PluggedShare plugged = measure_plugging(laterals_of_four({4, 0, 0, 0, 0, 0, 0, 0}));
  EXPECT_FALSE(plugged.correlation_assumed);
  EXPECT_NEAR(plugged.correlation, 1, 1e-12);
  EXPECT_LT(plugged.effective_emitters, 8);
  EXPECT_NEAR(plugged.share, 0.125, 1e-12);
  EXPECT_LT(plugged.clustered.lower, plugged.exact.lower);
  EXPECT_GT(plugged.clustered.upper, plugged.exact.upper);
}

TEST(MeasurePlugging, WeighsEmittersByWhatTheyStandFor) {
  EmitterSample sample = laterals_of_four({1, 0, 0, 0, 0, 0});
  sample.emitters[0].weight = 5;
  const PluggedShare plugged = measure_plugging(sample);
  EXPECT_NEAR(plugged.share, 5.0 / 28, 1e-12);
  EXPECT_LT(plugged.effective_emitters, 24 / 1.3);
}

TEST(MeasurePlugging, RefusesEmptyAndImpossibleSamples) {
  EXPECT_THROW(measure_plugging({}), std::invalid_argument);
  EmitterSample sample = laterals_of_four({0});
  sample.emitters[0].discharge_lph = -1;
  EXPECT_THROW(measure_plugging(sample), std::invalid_argument);
  sample.emitters[0].discharge_lph = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THROW(measure_plugging(sample), std::invalid_argument);
}

TEST(TwoPartLowQuarter, EqualsThePlainFigureWhereTheSampleHoldsTheShare) {
  const std::vector<double> runners = {0.8, 0.9, 1.0, 1.0, 1.1, 1.2, 0.7, 0.95, 1.05};
  std::vector<double> whole = runners;
  whole.push_back(0);
  EXPECT_NEAR(two_part_low_quarter(0.1, runners), low_quarter_uniformity(whole), 1e-12);
  EXPECT_NEAR(two_part_low_quarter(0, runners), low_quarter_uniformity(runners), 1e-12);
  EXPECT_EQ(two_part_low_quarter(0.25, runners), 0);
  EXPECT_EQ(two_part_low_quarter(0.1, {}), 0);
}

/// 12 laterals with 5 emitters, `plugged` of them plugged, on laterals one after the other.
EmitterSample sample_with(int plugged) {
  EmitterSample sample;
  for (int i = 0; i < 60; ++i) {
    SampledEmitter e;
    e.discharge_lph = i < plugged ? 0 : 1.6;
    e.lateral = i % 12;
    e.place = i;
    sample.emitters.push_back(e);
  }
  return sample;
}

PluggedShare plugging_of(int plugged, const DugFrom& zone) {
  PluggingOptions options;
  options.zone = zone;
  return measure_plugging(sample_with(plugged), options);
}

// Two-stage sampling (Cochran 1977, chapter 10; from memory): what is left of the variance is
// B (1/m - 1/M) + W (1/n - 1/N), with B the correlation and W the rest.
TEST(MeasurePlugging, DrawsItsLimitsInWhereAGoodPartOfTheZoneWasDug) {
  const PluggedShare open = plugging_of(3, {});
  EXPECT_EQ(open.unseen_part(), 1);
  const PluggedShare told = plugging_of(3, {20, 10});
  const double rho = told.correlation;
  const double all = rho / 12 + (1 - rho) / 60;
  const double left = std::sqrt((all - rho / 20 - (1 - rho) / 200) / all);
  EXPECT_NEAR(told.unseen_part(), left, 1e-12);
  EXPECT_NEAR(told.clustered.upper - told.share, left * (open.clustered.upper - open.share), 1e-12);
  EXPECT_NEAR(told.share - told.clustered.lower, left * (open.share - open.clustered.lower), 1e-12);
  const double laterals_alone = std::sqrt((all - rho / 20) / all);
  EXPECT_NEAR(plugging_of(3, {20, 0}).unseen_part(), laterals_alone, 1e-12);
}

TEST(MeasurePlugging, OfEveryEmitterIsSure) {
  for (const int plugged : {0, 3, 60}) {
    const PluggedShare all = plugging_of(plugged, {12, 5});
    EXPECT_NEAR(all.clustered.lower, plugged / 60.0, 1e-12);
    EXPECT_NEAR(all.clustered.upper, plugged / 60.0, 1e-12);
    EXPECT_FALSE(all.more_than_zone);
  }
}

TEST(MeasurePlugging, DoesNotBelieveAZoneSmallerThanTheSample) {
  for (const DugFrom zone : {DugFrom{11, 100}, DugFrom{12, 4}, DugFrom{11, 0}}) {
    const PluggedShare share = plugging_of(3, zone);
    EXPECT_TRUE(share.more_than_zone);
    EXPECT_EQ(share.unseen_part(), 1);
    EXPECT_EQ(share.clustered.upper, plugging_of(3, {}).clustered.upper);
  }
  EXPECT_THROW(plugging_of(3, {-1, 0}), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
