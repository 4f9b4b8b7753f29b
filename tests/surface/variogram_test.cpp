// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/variogram.hpp"

#include "surface_samples.hpp"
#include "surface_sites.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

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

TEST(MomentVariogram, OfSomeWesternEndsIsThatOfAllButForChance) {
  const Samples samples = scattered(3000);
  MomentOptions options{30, 6, false, 0};
  const auto all = moment_variogram(samples, options);
  options.western_ends = 600;
  const auto some = moment_variogram(samples, options);
  options.western_ends = 5000;
  const auto more_than_there_are = moment_variogram(samples, options);
  ASSERT_EQ(some.size(), all.size());
  for (std::size_t i = 0; i < all.size(); ++i) {
    EXPECT_NEAR(static_cast<double>(some[i].pairs), static_cast<double>(all[i].pairs) / 5,
                static_cast<double>(all[i].pairs) / 50);
    EXPECT_NEAR(some[i].semivariance, all[i].semivariance, 0.1 * all[i].semivariance);
    EXPECT_EQ(more_than_there_are[i].pairs, all[i].pairs);
  }
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

Samples on_laterals(std::size_t count) {
  Samples samples;
  std::mt19937_64 random(21);
  std::normal_distribution<double> value(1, 0.2);
  for (const Site& site : sites_on_laterals(count)) samples.push_back({site, value(random), 0});
  return samples;
}

/// Bearing of the line through two places, 0 to 180 degrees from north.
double bearing_of(const Sample& a, const Sample& b) {
  const double dx = b.site.place.x - a.site.place.x;
  const double dy = b.site.place.y - a.site.place.y;
  const double bearing = std::atan2(dx, dy) * 180 / std::numbers::pi;
  return bearing < 0 ? bearing + 180 : bearing;
}

/// Sums over pairs that lie in a direction, by angles and by the side of a triangle.
VariogramLag one_lag(const Samples& samples, double bearing, bool along, double cutoff_m,
                     double bandwidth_m) {
  VariogramLag lag;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const Sample& a = samples[i];
      const Sample& b = samples[j];
      if (a.site.zone != b.site.zone) continue;
      double distance = distance_m(a.site.place, b.site.place);
      if (a.site.lateral >= 0 && a.site.lateral == b.site.lateral) {
        if (!along) continue;
        distance = std::abs(a.site.station_m - b.site.station_m);
      } else {
        double off = std::abs(bearing_of(a, b) - bearing);
        off = std::min(off, 180 - off);
        const double aside = distance * std::sin(off * std::numbers::pi / 180);
        if (off > 20 || aside > bandwidth_m) continue;
      }
      if (distance > cutoff_m) continue;
      ++lag.pairs;
      lag.mean_distance_m += distance;
      lag.semivariance += (a.value - b.value) * (a.value - b.value) / 2;
    }
  }
  lag.mean_distance_m /= static_cast<double>(lag.pairs);
  lag.semivariance /= static_cast<double>(lag.pairs);
  return lag;
}

void expect_lag(const std::vector<VariogramLag>& lags, const VariogramLag& expected) {
  ASSERT_EQ(lags.size(), 1U);
  EXPECT_EQ(lags[0].pairs, expected.pairs);
  EXPECT_NEAR(lags[0].mean_distance_m, expected.mean_distance_m, 1e-9);
  EXPECT_NEAR(lags[0].semivariance, expected.semivariance, 1e-12);
}

TEST(DirectionalVariogram, EqualsTheSumOverThePairsOfEachDirection) {
  const Samples samples = on_laterals(120);
  for (const double bandwidth : {3.0, 1e9}) {
    DirectionOptions options;
    options.moment = {40, 1, true};
    options.azimuth_deg = bearing_deg;
    options.tolerance_deg = 20;
    options.bandwidth_m = bandwidth;
    const DirectionalVariogram lags = directional_variogram(samples, options);
    expect_lag(lags.along, one_lag(samples, bearing_deg, true, 40, bandwidth));
    expect_lag(lags.across, one_lag(samples, bearing_deg + 90, false, 40, bandwidth));
  }
}

TEST(DirectionalVariogram, SeesASurfaceThatChangesAcrossTheLateralsOnly) {
  Samples samples = on_laterals(150);
  for (Sample& sample : samples) {
    // Across a bearing of 30 degrees.
    const double across = (sample.site.place.x - 500000) * std::cos(std::numbers::pi / 6) -
                          (sample.site.place.y - 4100000) * std::sin(std::numbers::pi / 6);
    sample.value = 0.1 * across;
  }
  DirectionOptions options;
  options.azimuth_deg = bearing_deg;
  options.tolerance_deg = 10;
  options.bandwidth_m = 0.5;
  options.moment = {10, 5, false};
  const DirectionalVariogram lags = directional_variogram(samples, options);
  ASSERT_FALSE(lags.along.empty());
  ASSERT_GE(lags.across.size(), 4U);
  for (const VariogramLag& lag : lags.along) EXPECT_NEAR(lag.semivariance, 0, 1e-9);
  EXPECT_GT(lags.across.back().semivariance, 0.3);
}

TEST(DirectionalVariogram, RefusesATolerancePastTheDiagonal) {
  DirectionOptions options;
  options.tolerance_deg = 60;
  EXPECT_THROW(directional_variogram(on_laterals(5), options), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
