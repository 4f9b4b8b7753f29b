// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/limits.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

namespace evendrip {
namespace {

// R 4.2, n 18, 95 %: the noncentral t integrated over the chi-square distribution and solved.
TEST(CvLimits, ByTheNoncentralTAgreeWithR) {
  struct Row {
    double cv, lower, upper;
  };
  for (const Row& row :
       {Row{0.01, 0.0075037094, 0.0149922294}, Row{0.05, 0.0374985911, 0.0750558655},
        Row{0.1, 0.0748731935, 0.150703219}, Row{0.2, 0.148776082, 0.306125689},
        Row{0.3, 0.220846153, 0.470946671}, Row{0.4, 0.290405101, 0.649878216}}) {
    const Limits limits = noncentral_t_cv_limits(row.cv, 18, 0.95);
    EXPECT_TRUE(limits.known);
    EXPECT_NEAR(limits.lower, row.lower, 1e-6 * row.lower);
    EXPECT_NEAR(limits.upper, row.upper, 1e-6 * row.upper);
  }
}

// Chi-square interval of the statistical uniformity, percent, worked out with scipy and rounded to
// one decimal.
TEST(CvLimits, ByChiSquareAreTheTabulatedOnes) {
  struct Row {
    int n;
    double low_80, high_80, low_90, high_90;
  };
  for (const Row& row : {Row{9, 61.7, 86.5, 80.8, 93.2}, Row{16, 69.0, 85.2, 84.5, 92.6},
                         Row{18, 70.0, 85.0, 85.0, 92.5}, Row{24, 71.9, 84.5, 86.0, 92.2},
                         Row{32, 73.4, 84.0, 86.7, 92.0}, Row{36, 73.9, 83.8, 87.0, 91.9},
                         Row{54, 75.3, 83.2, 87.7, 91.6}, Row{72, 76.1, 82.8, 88.0, 91.4},
                         Row{100, 76.8, 82.4, 88.4, 91.2}, Row{144, 77.4, 82.1, 88.7, 91.0}}) {
    const Limits at_80 = chi_square_cv_limits(0.2, row.n, 0.95);
    const Limits at_90 = chi_square_cv_limits(0.1, row.n, 0.95);
    EXPECT_NEAR(100 * (1 - at_80.upper), row.low_80, 0.051);
    EXPECT_NEAR(100 * (1 - at_80.lower), row.high_80, 0.051);
    EXPECT_NEAR(100 * (1 - at_90.upper), row.low_90, 0.051);
    EXPECT_NEAR(100 * (1 - at_90.lower), row.high_90, 0.051);
  }
}

// Half-width 1.96 CV sqrt((1 + 2 CV^2)/(2n)), percent, as tabulated to one decimal.
TEST(CvLimits, OfLargeSamplesHaveTheTabulatedHalfWidths) {
  struct Row {
    int n;
    double us_60, us_70, us_80, us_90, us_95;
  };
  for (const Row& row : {Row{9, 21.2, 15.1, 9.6, 4.7, 2.3}, Row{18, 15.0, 10.6, 6.8, 3.3, 1.6},
                         Row{36, 10.6, 7.5, 4.8, 2.3, 1.2}, Row{72, 7.5, 5.3, 3.4, 1.6, 0.8},
                         Row{144, 5.3, 3.8, 2.4, 1.2, 0.6}}) {
    const auto half_pct = [&](double cv) {
      const Limits limits = large_sample_cv_limits(cv, row.n, 0.95);
      return 50 * (limits.upper - limits.lower);
    };
    EXPECT_NEAR(half_pct(0.4), row.us_60, 0.051);
    EXPECT_NEAR(half_pct(0.3), row.us_70, 0.051);
    EXPECT_NEAR(half_pct(0.2), row.us_80, 0.051);
    EXPECT_NEAR(half_pct(0.1), row.us_90, 0.051);
    EXPECT_NEAR(half_pct(0.05), row.us_95, 0.051);
  }
}

// The two differ by a share of the order of the squared CV.
TEST(CvLimits, ByTheNoncentralTMeetTheChiSquareOnesWhereVariationVanishes) {
  for (const int n : {2, 4, 18, 400, 3000}) {
    for (const double cv : {1e-9, 1e-5, 1e-3}) {
      const Limits exact = noncentral_t_cv_limits(cv, n, 0.95);
      const Limits near = chi_square_cv_limits(cv, n, 0.95);
      ASSERT_TRUE(exact.known);
      // With two emitters the upper end reaches 32 times the CV.
      const double share = 1e-8 + (n == 2 ? 2000 : 5) * cv * cv;
      EXPECT_NEAR(exact.lower, near.lower, share * near.lower) << n << " " << cv;
      EXPECT_NEAR(exact.upper, near.upper, share * near.upper) << n << " " << cv;
    }
  }
}

// Either side of the t at which the way of working it out changes.
TEST(CvLimits, ByTheNoncentralTDoNotJumpWhereTheWayOfReckoningChanges) {
  for (const int n : {3, 18, 100}) {
    const double at = std::sqrt(static_cast<double>(n)) / 30;
    const Limits series = noncentral_t_cv_limits(at * (1 + 1e-9), n, 0.95);
    const Limits mean = noncentral_t_cv_limits(at * (1 - 1e-9), n, 0.95);
    EXPECT_NEAR(series.lower, mean.lower, 1e-7 * at);
    EXPECT_NEAR(series.upper, mean.upper, 1e-6 * series.upper);
  }
}

TEST(CvLimits, WithoutAnUpperEndAreToldAsNotKnown) {
  const Limits limits = noncentral_t_cv_limits(2.5, 4, 0.95);
  EXPECT_FALSE(limits.known);
  EXPECT_TRUE(std::isfinite(limits.lower));
  EXPECT_TRUE(std::isfinite(limits.upper));
  EXPECT_GT(limits.lower, 0);
}

TEST(CvLimits, OfNoVariationAreNothing) {
  for (const Limits& limits : {noncentral_t_cv_limits(0, 9, 0.95), chi_square_cv_limits(0, 9, 0.95),
                               large_sample_cv_limits(0, 9, 0.95)}) {
    EXPECT_FALSE(limits.known);
    EXPECT_EQ(limits.lower, 0);
    EXPECT_EQ(limits.upper, 0);
  }
}

TEST(CvLimits, RefuseOneEmitterAndNegativeVariation) {
  EXPECT_THROW(noncentral_t_cv_limits(0.1, 1, 0.95), std::invalid_argument);
  EXPECT_THROW(chi_square_cv_limits(-0.1, 9, 0.95), std::invalid_argument);
  EXPECT_THROW(large_sample_cv_limits(0.1, 9, 0), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
