// SPDX-License-Identifier: Apache-2.0
// Depth factors and the normal relations of uniformity against values worked out with numpy.
#include "evendrip/uniformity/depth.hpp"

#include <gtest/gtest.h>
#include <boost/math/distributions/normal.hpp>

#include <vector>

namespace evendrip {
namespace {

// 1/(1 - z CV), relation from memory of texts on irrigation performance: 87.5 % of the area, CV
// 0.15: 1/(1 - 1.1503 x 0.15) = 1.2085.
TEST(DepthReference, FactorOfTheNormalDistribution) {
  const auto factor = normal_depth_factor(0.15, 0.875);
  ASSERT_TRUE(factor.has_value());
  EXPECT_NEAR(*factor, 1.2085, 5e-5);
}

// Half the area gets less than the mean whatever the CV.
TEST(DepthReference, HalfTheAreaIsServedByTheMean) {
  EXPECT_NEAR(*normal_depth_factor(0.3, 0.5), 1, 1e-12);
}

/// Middle points of equal shares of a normal distribution of mean 1.
std::vector<double> normal_sample(double cv, int n) {
  const boost::math::normal_distribution<double> normal(1, cv);
  std::vector<double> values;
  for (int i = 1; i <= n; ++i) values.push_back(quantile(normal, (i - 0.5) / n));
  return values;
}

// When the mean depth equals the need, what is missing and what is in excess are each half the mean
// deviation: CV phi(0) = 0.3989423 CV, half of 1 - CU = 0.7978845608 CV (normal relation, numpy).
TEST(DepthReference, DeficitAtTheMeanIsHalfTheMeanDeviation) {
  for (const double cv : {0.05, 0.10, 0.20}) {
    const DepthResult result = depth_result(normal_sample(cv, 10'000), {});
    ASSERT_EQ(result.uncorrected.size(), 3U);
    for (const DepthFactor& factor : result.uncorrected) {
      EXPECT_NEAR(factor.deficit_frac, 0.5 * 0.7978845608 * cv, 2e-4 * cv) << to_text(factor.model);
      EXPECT_NEAR(factor.excess_frac, factor.deficit_frac, 1e-12);
      EXPECT_NEAR(factor.short_share_frac, 0.5, 1e-9);
    }
  }
}

// A factor of 1/DUlq (DUlq = 1 - 1.2711062907 CV) brings the mean of the lowest quarter to the
// need; by the normal distribution it then serves the share below z = 1.2711: 89.8 % (numpy).
TEST(DepthReference, LowQuarterRunTimeServesNineTenths) {
  const double cv = 0.2;
  const auto by_low_quarter = low_quarter_run_time_factor(1 - 1.2711062907 * cv);
  EXPECT_NEAR(*normal_depth_factor(cv, 0.8981547), *by_low_quarter, 1e-5);
}

}  // namespace
}  // namespace evendrip
