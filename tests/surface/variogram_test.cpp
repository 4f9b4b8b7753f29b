// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/variogram.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace evendrip {
namespace {

TEST(Semivariance, IsZeroAtDistanceZeroAndNuggetJustBeyond) {
  const VariogramModel model{VariogramShape::spherical, 0.2, 0.8, 50, 0, 1};
  EXPECT_EQ(semivariance(model, 0), 0);
  EXPECT_NEAR(semivariance(model, 1e-9), 0.2, 1e-9);
}

TEST(Semivariance, FollowsTheStatedFormulas) {
  const double a = 40;
  const double h = 25;
  const double r = h / a;
  const auto at = [&](VariogramShape shape) { return semivariance({shape, 0.5, 2, a, 0, 1}, h); };
  EXPECT_DOUBLE_EQ(at(VariogramShape::nugget), 0.5);
  EXPECT_DOUBLE_EQ(at(VariogramShape::exponential), 0.5 + 2 * (1 - std::exp(-r)));
  EXPECT_DOUBLE_EQ(at(VariogramShape::spherical), 0.5 + 2 * (1.5 * r - 0.5 * r * r * r));
  EXPECT_DOUBLE_EQ(at(VariogramShape::gaussian), 0.5 + 2 * (1 - std::exp(-r * r)));
  EXPECT_DOUBLE_EQ(at(VariogramShape::matern32), 0.5 + 2 * (1 - (1 + r) * std::exp(-r)));
  EXPECT_DOUBLE_EQ(at(VariogramShape::matern52),
                   0.5 + 2 * (1 - (1 + r + r * r / 3) * std::exp(-r)));
  EXPECT_DOUBLE_EQ(at(VariogramShape::linear), 0.5 + 2 * h);
}

TEST(MomentVariogram, EqualsTheSumOverAllPairsWithinTheCutoff) {
  const Samples samples = scattered(120);
  const auto lags = moment_variogram(samples, {30, 6, true});
  std::vector<VariogramLag> brute(6);
  for (std::size_t i = 0; i < samples.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) {
      const double d = distance_m(samples[i].site.place, samples[j].site.place);
      if (d > 30) continue;
      VariogramLag& lag = brute[static_cast<std::size_t>(std::ceil(d / 5) - 1)];
      ++lag.pairs;
      lag.mean_distance_m += d;
      lag.semivariance += 0.5 * std::pow(samples[i].value - samples[j].value, 2);
    }
  ASSERT_EQ(lags.size(), brute.size());
  for (std::size_t i = 0; i < lags.size(); ++i) {
    const auto n = static_cast<double>(brute[i].pairs);
    EXPECT_EQ(lags[i].pairs, brute[i].pairs);
    EXPECT_NEAR(lags[i].mean_distance_m, brute[i].mean_distance_m / n, 1e-10);
    EXPECT_NEAR(lags[i].semivariance, brute[i].semivariance / n, 1e-12);
  }
}

TEST(MomentVariogram, DoesNotDependOnTheOrderOfTheSamples) {
  Samples samples = scattered(80);
  const auto lags = moment_variogram(samples);
  std::reverse(samples.begin(), samples.end());
  const auto again = moment_variogram(samples);
  ASSERT_EQ(lags.size(), again.size());
  for (std::size_t i = 0; i < lags.size(); ++i)
    EXPECT_EQ(lags[i].semivariance, again[i].semivariance);
}

TEST(MomentVariogram, PairsSamplesOfOneZoneOnlyUnlessAskedOtherwise) {
  const Samples samples{sample_at(0, 0, 1, 0), sample_at(1, 0, 2, 0), sample_at(0, 1, 9, 1),
                        sample_at(1, 1, 9, 1)};
  const auto within = moment_variogram(samples, {1.2, 1, true});
  ASSERT_EQ(within.size(), 1U);
  EXPECT_EQ(within[0].pairs, 2U);
  EXPECT_DOUBLE_EQ(within[0].semivariance, 0.25);
  const auto all = moment_variogram(samples, {1.2, 1, false});
  EXPECT_EQ(all[0].pairs, 4U);
}

TEST(MomentVariogram, OfNoneOneOrCoincidentSamplesIsEmpty) {
  EXPECT_TRUE(moment_variogram({}).empty());
  EXPECT_TRUE(moment_variogram({sample_at(3, 3, 1)}).empty());
  EXPECT_TRUE(moment_variogram({sample_at(3, 3, 1), sample_at(3, 3, 2)}).empty());
}

}  // namespace
}  // namespace evendrip
