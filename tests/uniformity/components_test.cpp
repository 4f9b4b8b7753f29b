// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/components.hpp"

#include <gtest/gtest.h>
#include <Eigen/Dense>
#include <boost/math/distributions/fisher_f.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using Sample = std::vector<GroupedValue>;

Sample balanced_sample(int laterals, int emitters, double between, double within) {
  std::mt19937_64 stream(7);
  std::normal_distribution<double> normal;
  Sample sample;
  for (int l = 0; l < laterals; ++l) {
    const double effect = between * normal(stream);
    for (int e = 0; e < emitters; ++e) {
      sample.push_back({1 + effect + within * normal(stream), l, -1, (e + 0.5) / emitters});
    }
  }
  return sample;
}

Sample uneven_pits() {
  std::mt19937_64 stream(11);
  std::normal_distribution<double> normal;
  Sample sample;
  for (int l = 0; l < 5; ++l) {
    const double lateral = 0.15 * normal(stream);
    for (int p = 0; p < 2 + l % 3; ++p) {
      const double pit = 0.1 * normal(stream);
      for (int e = 0; e < 1 + (l + p) % 3; ++e) {
        sample.push_back({lateral + pit + 0.08 * normal(stream), l, p, 0.25 * p});
      }
    }
  }
  return sample;
}

struct MeanSquares {
  double between = 0;
  double within = 0;
};

/// Analysis of variance of a balanced sample, emitters of a lateral in a row.
MeanSquares mean_squares(const Sample& sample, int laterals, int emitters) {
  double all = 0;
  for (const GroupedValue& v : sample) all += v.value / static_cast<double>(sample.size());
  MeanSquares squares;
  for (int l = 0; l < laterals; ++l) {
    double mean = 0;
    for (int e = 0; e < emitters; ++e) {
      mean += sample[static_cast<std::size_t>(l * emitters + e)].value / emitters;
    }
    squares.between += emitters * (mean - all) * (mean - all) / (laterals - 1);
    for (int e = 0; e < emitters; ++e) {
      const double d = sample[static_cast<std::size_t>(l * emitters + e)].value - mean;
      squares.within += d * d / (laterals * (emitters - 1));
    }
  }
  return squares;
}

// Of balanced data restricted maximum likelihood is the analysis of variance; its standard errors
// have a closed form (Searle, Casella & McCulloch 1992, Variance Components; from memory).
TEST(VarianceComponents, OfBalancedDataAreThoseOfTheAnalysisOfVariance) {
  const int laterals = 8;
  const int emitters = 5;
  const Sample sample = balanced_sample(laterals, emitters, 0.2, 0.1);
  const MeanSquares squares = mean_squares(sample, laterals, emitters);
  const VarianceComponents fit = variance_components(sample);
  ASSERT_TRUE(fit.computed);
  EXPECT_NEAR(fit.within.variance, squares.within, 1e-6 * squares.within);
  const double between = (squares.between - squares.within) / emitters;
  EXPECT_NEAR(fit.between_laterals.variance, between, 1e-6 * between);
  EXPECT_NEAR(*fit.within.standard_error,
              squares.within * std::sqrt(2.0 / (laterals * (emitters - 1))), 1e-6);
  const double error =
      std::sqrt(2 * (squares.between * squares.between / (laterals - 1) +
                     squares.within * squares.within / (laterals * (emitters - 1)))) /
      emitters;
  EXPECT_NEAR(*fit.between_laterals.standard_error, error, 1e-4 * error);
  EXPECT_NEAR(fit.mean_standard_error, std::sqrt(squares.between / (laterals * emitters)), 1e-6);
}

/// By dense matrices, from the definition of the restricted likelihood.
double dense_log_likelihood(const Sample& sample, double lateral, double pit, double within) {
  const auto n = static_cast<Eigen::Index>(sample.size());
  Eigen::MatrixXd v = within * Eigen::MatrixXd::Identity(n, n);
  Eigen::VectorXd y(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const GroupedValue& a = sample[static_cast<std::size_t>(i)];
    y(i) = a.value;
    for (Eigen::Index j = 0; j < n; ++j) {
      const GroupedValue& b = sample[static_cast<std::size_t>(j)];
      if (a.lateral != b.lateral) continue;
      v(i, j) += lateral;
      if (a.pit == b.pit) v(i, j) += pit;
    }
  }
  const Eigen::MatrixXd inverse = v.inverse();
  const Eigen::VectorXd ones = Eigen::VectorXd::Ones(n);
  const double information = ones.dot(inverse * ones);
  const Eigen::VectorXd rest = y - ones * (ones.dot(inverse * y) / information);
  return -0.5 * (static_cast<double>(n - 1) * std::log(2 * std::numbers::pi) +
                 std::log(v.determinant()) + std::log(information) + rest.dot(inverse * rest));
}

TEST(VarianceComponents, StandAtTheTopOfTheLikelihoodByDenseMatrices) {
  const Sample sample = uneven_pits();
  const VarianceComponents fit = variance_components(sample);
  ASSERT_TRUE(fit.computed);
  ASSERT_TRUE(fit.between_pits.has_value());
  const double l = fit.between_laterals.variance;
  const double p = fit.between_pits->variance;
  const double w = fit.within.variance;
  ASSERT_GT(std::min({l, p, w}), 0);
  const double top = dense_log_likelihood(sample, l, p, w);
  EXPECT_NEAR(fit.restricted_log_likelihood, top, 1e-8);
  for (const double f : {0.97, 1.03}) {
    EXPECT_LT(dense_log_likelihood(sample, f * l, p, w), top);
    EXPECT_LT(dense_log_likelihood(sample, l, f * p, w), top);
    EXPECT_LT(dense_log_likelihood(sample, l, p, f * w), top);
  }
}

TEST(VarianceComponents, DoNotDependOnTheOrderOfDigging) {
  Sample sample = uneven_pits();
  const VarianceComponents fit = variance_components(sample);
  std::shuffle(sample.begin(), sample.end(), std::mt19937_64(3));
  const VarianceComponents shuffled = variance_components(sample);
  EXPECT_EQ(fit.between_laterals.variance, shuffled.between_laterals.variance);
  EXPECT_EQ(fit.within.variance, shuffled.within.variance);
  EXPECT_EQ(fit.between_laterals.upper, shuffled.between_laterals.upper);
}

/// Laterals more alike than chance would make them.
Sample alike_laterals() {
  Sample sample;
  for (int l = 0; l < 6; ++l) {
    for (const double q : {0.9, 1.0, 1.1}) sample.push_back({q, l, -1, q});
  }
  return sample;
}

TEST(VarianceComponents, OfLateralsThatAgreeAreZeroWithAnUpperLimitAlone) {
  const Sample sample = alike_laterals();
  const VarianceComponents fit = variance_components(sample);
  ASSERT_TRUE(fit.computed);
  EXPECT_EQ(fit.between_laterals.variance, 0);
  EXPECT_FALSE(fit.between_laterals.standard_error.has_value());
  ASSERT_TRUE(fit.between_laterals.upper.has_value());
  EXPECT_NEAR(fit.within.variance, 0.12 / 17, 1e-9);
  // At the limit the best likelihood lies 1.3528 (half the 90 % point of chi-square) below.
  double best = -std::numeric_limits<double>::infinity();
  for (double w = 0.002; w < 0.03; w += 1e-5) {
    best = std::max(best, dense_log_likelihood(sample, *fit.between_laterals.upper, 0, w));
  }
  EXPECT_NEAR(fit.restricted_log_likelihood - best, 1.352772, 1e-4);
}

TEST(VarianceComponents, LeavePitsAsideWhenToldOrWhenTheyShowOneEmitter) {
  EXPECT_FALSE(variance_components(uneven_pits(), PitLevel::none).between_pits.has_value());
  EXPECT_FALSE(variance_components(balanced_sample(4, 3, 0.1, 0.1)).between_pits.has_value());
}

TEST(VarianceComponents, TellThatOnePitOnEachLateralStandsForIt) {
  Sample sample = balanced_sample(6, 3, 0.2, 0.1);
  for (GroupedValue& v : sample) v.pit = 0;
  const VarianceComponents fit = variance_components(sample);
  EXPECT_TRUE(fit.computed);
  EXPECT_NE(fit.remark.find("one pit"), std::string::npos) << fit.remark;
}

TEST(VarianceComponents, OfEqualValuesAreZeroNotMissing) {
  const VarianceComponents fit = variance_components(Sample(6, {1.1, 0, -1, 0}));
  EXPECT_FALSE(fit.computed);
  Sample sample;
  for (int l = 0; l < 3; ++l) sample.insert(sample.end(), 3, {1.1, l, -1, 0});
  const VarianceComponents equal = variance_components(sample);
  ASSERT_TRUE(equal.computed);
  EXPECT_EQ(equal.total_variance(), 0);
  EXPECT_EQ(equal.lateral_share_frac, 0);
  EXPECT_EQ(equal.remark, "all values are equal");
}

TEST(VarianceComponents, OfEmittersAlikeOnEachLateralGoToTheLaterals) {
  Sample sample;
  for (int l = 0; l < 4; ++l) sample.insert(sample.end(), 3, {1.0 + l, l, -1, 0});
  const VarianceComponents fit = variance_components(sample);
  ASSERT_TRUE(fit.computed);
  EXPECT_NEAR(fit.between_laterals.variance, 5.0 / 3, 1e-12);
  EXPECT_EQ(fit.within.variance, 0);
  EXPECT_EQ(fit.lateral_share_frac, 1);
}

TEST(VarianceComponents, OfEmittersAlikeInEachPitGoToPitsAndLaterals) {
  Sample pits = balanced_sample(5, 3, 0.2, 0.1);
  for (std::size_t i = 0; i < pits.size(); ++i) pits[i].pit = static_cast<int>(i);
  Sample sample = pits;
  sample.insert(sample.end(), pits.begin(), pits.end());
  const VarianceComponents fit = variance_components(sample);
  const VarianceComponents of_pits = variance_components(pits);
  ASSERT_TRUE(fit.computed);
  ASSERT_TRUE(fit.between_pits.has_value());
  EXPECT_NEAR(fit.between_pits->variance, of_pits.within.variance, 1e-9);
  EXPECT_EQ(fit.within.variance, 0);
}

TEST(VarianceComponents, SayWhyTheyCannotBeTold) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(variance_components(Sample{}).why_not, "no emitter has a value");
  EXPECT_EQ(variance_components(Sample{{1, 0}, {nan, 1}}).why_not, "a value is not finite");
  EXPECT_EQ(variance_components(Sample{{1, 0}, {1.2, -1}}).why_not,
            "an emitter is on no lateral that is told");
  EXPECT_NE(variance_components(Sample{{1, 0}}).why_not.find("one lateral"), std::string::npos);
  EXPECT_NE(variance_components(Sample{{1, 0}, {2, 1}}).why_not.find("one emitter"),
            std::string::npos);
}

// Searle, Casella & McCulloch 1992, "Variance Components" (from memory): of balanced data the
// limits of the variance ratio are (F / F quantile - 1) / emitters.
TEST(LateralShareLimits, OfBalancedDataAreThoseOfTheFTest) {
  const int laterals = 6;
  const int emitters = 5;
  const Sample sample = balanced_sample(laterals, emitters, 0.2, 0.1);
  const MeanSquares squares = mean_squares(sample, laterals, emitters);
  const boost::math::fisher_f_distribution<double> f(laterals - 1, laterals * (emitters - 1));
  const auto share = [&](double quantile) {
    const double ratio = (squares.between / squares.within / quantile - 1) / emitters;
    return ratio / (1 + ratio);
  };
  const LateralShareLimits limits = variance_components(sample).lateral_share;
  ASSERT_TRUE(limits.known);
  EXPECT_NEAR(limits.lower, share(quantile(f, 0.975)), 1e-7);
  EXPECT_NEAR(limits.upper, share(quantile(f, 0.025)), 1e-7);
}

/// Laterals with 1 to 7 emitters, or 1 to 4 pits of 1 to 3; half of variance 1 lies between
/// laterals.
Sample drawn_unevenly(std::mt19937_64& stream, bool pits) {
  std::normal_distribution<double> normal;
  Sample sample;
  for (int l = 0; l < 9; ++l) {
    const double lateral = std::sqrt(0.5) * normal(stream);
    for (int p = 0; p < (pits ? 1 + l % 4 : 1 + l % 7); ++p) {
      const double pit = pits ? std::sqrt(0.2) * normal(stream) : 0;
      for (int e = 0; e < (pits ? 1 + (l + p) % 3 : 1); ++e) {
        const double rest = std::sqrt(pits ? 0.3 : 0.5) * normal(stream);
        sample.push_back({lateral + pit + rest, l, pits ? p : -1, 0});
      }
    }
  }
  return sample;
}

// 1,000 surveys: three standard errors of a share of 95 % are 2.1 points. Exact without pits; with
// pits the limits rest on their ratio as estimated and may hold a little more or less.
TEST(LateralShareLimits, HoldTheTrueShareInNineteenOfTwentySamples) {
  for (const bool pits : {false, true}) {
    std::mt19937_64 stream(31);
    int held = 0;
    for (int i = 0; i < 1000; ++i) {
      const LateralShareLimits limits =
          variance_components(drawn_unevenly(stream, pits)).lateral_share;
      held += limits.known && limits.lower <= 0.5 && 0.5 <= limits.upper ? 1 : 0;
    }
    EXPECT_GE(held, pits ? 915 : 929) << (pits ? "pits" : "no pits");
    EXPECT_LE(held, pits ? 990 : 971) << (pits ? "pits" : "no pits");
  }
}

TEST(LateralShareLimits, OfLateralsMoreAlikeThanChanceStillTellAnUpperOne) {
  Sample sample;
  for (int l = 0; l < 6; ++l) {
    for (const double v : {0.9, 1.0, 1.1}) sample.push_back({v + 1e-5 * l, l, -1, 0});
  }
  const LateralShareLimits limits = variance_components(sample).lateral_share;
  ASSERT_TRUE(limits.known);
  EXPECT_EQ(limits.lower, 0);
  EXPECT_GT(limits.upper, 0);
  EXPECT_LT(limits.upper, 0.5);
}

TEST(VarianceComponents, WidenTheirLimitsWithTheConfidence) {
  const Sample sample = balanced_sample(6, 5, 0.2, 0.1);
  const VarianceComponents wide = variance_components(sample, PitLevel::none, 0.99);
  const VarianceComponents narrow = variance_components(sample, PitLevel::none, 0.8);
  EXPECT_LT(wide.lateral_share.lower, narrow.lateral_share.lower);
  EXPECT_GT(*wide.between_laterals.upper, *narrow.between_laterals.upper);
  EXPECT_THROW(variance_components(sample, PitLevel::none, 1), std::invalid_argument);
}

// Laterals that lose differently towards their tails: the mixed model with one slope for all is too
// sure, the limits told are not.
TEST(Trend, HoldsTheMeanSlopeWhereSlopesDifferBetweenLaterals) {
  std::mt19937_64 stream(17);
  std::normal_distribution<double> normal;
  int held = 0;
  int held_by_model = 0;
  for (int i = 0; i < 1000; ++i) {
    Sample sample;
    for (int l = 0; l < 8; ++l) {
      const double slope = -0.2 + 0.2 * normal(stream);
      for (int e = 0; e < 6; ++e) {
        const double x = (e + 0.5) / 6;
        sample.push_back({slope * x + 0.05 * normal(stream), l, -1, x});
      }
    }
    const Trend trend = trend_along(sample);
    ASSERT_TRUE(trend.lateral_standard_error.has_value());
    held += trend.lower <= -0.2 && -0.2 <= trend.upper ? 1 : 0;
    held_by_model += std::abs(trend.slope + 0.2) <= 2.02 * trend.standard_error ? 1 : 0;
    EXPECT_GE(trend.p_value, trend.p_two_sided);
  }
  EXPECT_GE(held, 929);
  EXPECT_LT(held_by_model, 850);
}

TEST(Trend, OnOneLateralIsAnOrdinaryStraightLine) {
  // Anscombe 1973, Am. Statistician 27:17-21, first set: y = 3.0001 + 0.5001 x, error of the slope
  // 0.1179 (printed).
  const std::vector<double> x = {10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5};
  const std::vector<double> y = {8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68};
  Sample sample;
  for (std::size_t i = 0; i < x.size(); ++i) sample.push_back({y[i], 0, -1, x[i]});
  const Trend trend = trend_along(sample);
  ASSERT_TRUE(trend.computed) << trend.why_not;
  EXPECT_NEAR(trend.slope, 0.5001, 5e-5);
  EXPECT_NEAR(trend.intercept, 3.0001, 5e-5);
  EXPECT_NEAR(trend.standard_error, 0.1179, 5e-5);
  EXPECT_EQ(trend.degrees_of_freedom, 9);
}

TEST(Trend, OfLateralsFarApartIsTheSlopeWithinThem) {
  Sample sample = balanced_sample(4, 6, 0, 0.05);
  for (GroupedValue& v : sample) v.value += 1000 * v.lateral - 0.3 * v.covariate;
  double xx = 0;
  double xy = 0;
  for (int l = 0; l < 4; ++l) {
    double mean = 0;
    for (int e = 0; e < 6; ++e) mean += sample[static_cast<std::size_t>(6 * l + e)].value / 6;
    for (int e = 0; e < 6; ++e) {
      const GroupedValue& v = sample[static_cast<std::size_t>(6 * l + e)];
      xx += (v.covariate - 0.5) * (v.covariate - 0.5);
      xy += (v.covariate - 0.5) * (v.value - mean);
    }
  }
  const Trend trend = trend_along(sample);
  ASSERT_TRUE(trend.computed) << trend.why_not;
  EXPECT_NEAR(trend.slope, xy / xx, 1e-9);
  EXPECT_EQ(trend.degrees_of_freedom, 24 - 4 - 1);
}

TEST(Trend, FindsTheSlopeOfTheTruthInNineteenOfTwentySamples) {
  std::mt19937_64 stream(5);
  std::normal_distribution<double> normal;
  int held = 0;
  for (int run = 0; run < 400; ++run) {
    Sample sample;
    for (int l = 0; l < 6; ++l) {
      const double effect = 0.1 * normal(stream);
      for (int e = 0; e < 3 + l % 3; ++e) {
        const double x = (e + 0.5) / (3 + l % 3);
        sample.push_back({effect - 0.2 * x + 0.1 * normal(stream), l, -1, x});
      }
    }
    const Trend trend = trend_along(sample);
    ASSERT_TRUE(trend.computed);
    if (trend.lower <= -0.2 && trend.upper >= -0.2) ++held;
  }
  // 380 expected; three standard errors of a binomial share of 400 are 13.
  EXPECT_NEAR(held, 380, 13);
}

TEST(Trend, SaysWhyItCannotBeTold) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(trend_along(Sample{{1, 0, -1, nan}}).why_not, "an emitter has no station");
  EXPECT_NE(trend_along(Sample{{1, 0, -1, 0.5}, {2, 1, -1, 0.7}}).why_not.find("two stations"),
            std::string::npos);
  EXPECT_NE(trend_along(Sample{{1, 0, -1, 0.1}, {2, 0, -1, 0.9}}).why_not.find("too few"),
            std::string::npos);
  const Sample line = {{1, 0, -1, 0}, {2, 0, -1, 0.5}, {3, 0, -1, 1}, {4, 1, -1, 0.5}};
  EXPECT_NE(trend_along(line).why_not.find("without scatter"), std::string::npos);
  const Sample equal = {{1, 0, -1, 0}, {1, 0, -1, 0.5}, {1, 0, -1, 1}, {1, 1, -1, 0.5}};
  EXPECT_NE(trend_along(equal).why_not.find("equal"), std::string::npos);
}

}  // namespace
}  // namespace evendrip
