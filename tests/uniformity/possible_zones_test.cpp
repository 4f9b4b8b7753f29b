// SPDX-License-Identifier: Apache-2.0
#include "../../src/uniformity/possible_zones.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include <boost/math/distributions/beta.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

constexpr int many = 20'000;

PluggedCounts counts_of(const std::vector<int>& plugged, int each) {
  return {std::vector<int>(plugged.size(), each), plugged};
}

double mean_of_shares(const std::vector<PluggedZone>& zones, double PluggedZone::*figure) {
  double sum = 0;
  for (const PluggedZone& zone : zones) sum += zone.*figure / static_cast<double>(zones.size());
  return sum;
}

// One emitter on a lateral tells no correlation: what is left is Jeffreys' distribution of a share,
// Beta(x + 1/2, n - x + 1/2) (Brown, Cai & DasGupta 2001, Stat. Sci. 16:101-133; from memory).
TEST(PossibleZones, OfSingleEmittersHaveJeffreysDistribution) {
  std::mt19937_64 stream = item_stream(3, {1});
  for (const int plugged : {0, 1, 5}) {
    std::vector<int> list(24, 0);
    std::fill_n(list.begin(), plugged, 1);
    const auto zones = possible_zones(counts_of(list, 1), many, stream);
    std::vector<double> shares;
    for (const PluggedZone& zone : zones) shares.push_back(zone.share);
    std::sort(shares.begin(), shares.end());
    const boost::math::beta_distribution<double> jeffreys(plugged + 0.5, 24 - plugged + 0.5);
    for (const double p : {0.5, 0.9}) {
      EXPECT_NEAR(cdf(jeffreys, shares[static_cast<std::size_t>(p * many)]), p, 0.04) << plugged;
    }
    EXPECT_NEAR(mean_of_shares(zones, &PluggedZone::share), mean(jeffreys), 0.002);
    EXPECT_NEAR(mean_of_shares(zones, &PluggedZone::correlation), 0.5, 0.01);
  }
}

TEST(PossibleZones, TellScatteredFromClusteredPlugging) {
  std::mt19937_64 stream = item_stream(3, {2});
  const auto scattered = possible_zones(counts_of(std::vector<int>(30, 1), 10), many, stream);
  std::vector<int> whole(30, 0);
  std::fill_n(whole.begin(), 3, 10);
  const auto clustered = possible_zones(counts_of(whole, 10), many, stream);
  EXPECT_NEAR(mean_of_shares(scattered, &PluggedZone::share), 0.1, 0.02);
  EXPECT_LT(mean_of_shares(scattered, &PluggedZone::correlation), 0.06);
  EXPECT_GT(mean_of_shares(clustered, &PluggedZone::correlation), 0.85);
}

// Mean and variance of the beta-binomial distribution: k p and k p (1 - p) (1 + (k - 1) rho).
TEST(DrawnCounts, HaveTheMomentsOfTheBetaBinomial) {
  std::mt19937_64 stream = item_stream(3, {3});
  for (const PluggedZone zone : {PluggedZone{0.05, 0.1}, PluggedZone{0.3, 0.6}}) {
    const int k = 8;
    const PluggedCounts counts = drawn_counts(zone, many, k, stream);
    double sum = 0;
    double squares = 0;
    for (const int plugged : counts.plugged) {
      sum += plugged;
      squares += static_cast<double>(plugged) * plugged;
    }
    const double mean = sum / many;
    const double variance = squares / many - mean * mean;
    EXPECT_NEAR(mean, k * zone.share, 0.03);
    const double expected = k * zone.share * (1 - zone.share) * (1 + (k - 1) * zone.correlation);
    EXPECT_NEAR(variance / expected, 1, 0.05);
  }
}

}  // namespace
}  // namespace evendrip
