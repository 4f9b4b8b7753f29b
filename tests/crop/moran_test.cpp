// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/moran.hpp"

#include "drawn_places.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

using testing::Each;
using testing::IsNan;

constexpr double no_value = std::numeric_limits<double>::quiet_NaN();

/// Four places in a row, weights not alike both ways.
NeighbourWeights chain() {
  return {{0, 1, 3, 5, 6}, {1, 0, 2, 1, 3, 2}, {1, 0.5, 0.5, 0.5, 0.5, 1}};
}

double mean_of(const std::vector<double>& values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

/// Rises to the east, with noise.
std::vector<double> sloping(const std::vector<Point>& places, std::uint64_t seed) {
  std::vector<double> values = drawn::noise(places.size(), seed);
  for (std::size_t i = 0; i < places.size(); ++i) values[i] += places[i].x / 50;
  return values;
}

TEST(Moran, HasTheMomentsOfAllOrdersOfTheValues) {
  std::vector<double> values = {1, 2, 4, 9};
  const GlobalAutocorrelation i = moran(values, chain());
  const GlobalAutocorrelation c = geary(values, chain());
  std::vector<double> all_i;
  std::vector<double> all_c;
  do {
    all_i.push_back(moran(values, chain()).value);
    all_c.push_back(geary(values, chain()).value);
  } while (std::next_permutation(values.begin(), values.end()));
  ASSERT_EQ(all_i.size(), 24U);
  const auto variance = [](const std::vector<double>& all) {
    double sum = 0;
    for (const double v : all) sum += (v - mean_of(all)) * (v - mean_of(all));
    return sum / static_cast<double>(all.size());
  };
  EXPECT_NEAR(i.expected, mean_of(all_i), 1e-12);
  EXPECT_NEAR(i.variance, variance(all_i), 1e-12);
  EXPECT_NEAR(c.expected, mean_of(all_c), 1e-12);
  EXPECT_NEAR(c.variance, variance(all_c), 1e-12);
}

TEST(Moran, IsTheMeanOfTheLocalOnes) {
  const std::vector<Point> places = drawn::places(200, 100, 60, 21);
  const std::vector<double> values = sloping(places, 22);
  const NeighbourWeights weights = neighbours_within(places, 25, {});
  const LocalMoran local = local_moran(values, weights, {});
  EXPECT_NEAR(moran(values, weights).value, mean_of(local.value), 1e-12);
}

TEST(Moran, TellsAlikeNeighboursFromUnlikeOnes) {
  const std::vector<Point> places = drawn::places(200, 100, 60, 23);
  const NeighbourWeights weights = neighbours_within(places, 15, {});
  EXPECT_LT(moran(sloping(places, 24), weights).p, 1e-6);
  EXPECT_LT(geary(sloping(places, 24), weights).p, 1e-6);
  EXPECT_LT(geary(sloping(places, 24), weights).value, 1);
  int alarms = 0;
  for (std::uint64_t seed = 0; seed < 200; ++seed)
    if (moran(drawn::noise(200, 1000 + seed), weights).p < 0.05) ++alarms;
  EXPECT_GT(alarms, 1);  // 10 are due; outside 2 to 21 once in a thousand
  EXPECT_LT(alarms, 22);
}

TEST(LocalMoran, HasTheMomentsOfAllOrdersOfTheOtherValues) {
  const std::vector<double> values = {1, 2, 4, 9};
  const LocalMoran local = local_moran(values, chain(), {});
  std::vector<double> others = {1, 4, 9};  // 2 stays at place 1
  std::vector<double> all;
  do {
    all.push_back(
        local_moran(std::vector<double>{others[0], 2, others[1], others[2]}, chain(), {}).value[1]);
  } while (std::next_permutation(others.begin(), others.end()));
  ASSERT_EQ(all.size(), 6U);
  double squares = 0;
  for (const double v : all) squares += v * v;
  EXPECT_NEAR(local.expected[1], mean_of(all), 1e-12);
  EXPECT_NEAR(local.variance[1], squares / 6 - mean_of(all) * mean_of(all), 1e-12);
}

TEST(LocalMoran, IsTheSameWithoutWeightsHeld) {
  const std::vector<Point> places = drawn::places(2000, 700, 500, 25);
  const std::vector<double> values = sloping(places, 26);
  const LocalMoran held = local_moran(values, neighbours_within(places, 40, {}), {});
  Work two;
  two.threads = 2;
  const LocalMoran free = local_moran(places, values, 40, two);
  for (std::size_t i = 0; i < places.size(); ++i) {
    ASSERT_NEAR(free.value[i], held.value[i], 1e-11);
    ASSERT_NEAR(free.expected[i], held.expected[i], 1e-11);
    ASSERT_NEAR(free.variance[i], held.variance[i], 1e-11);
    ASSERT_NEAR(free.z[i], held.z[i], 1e-9);
    ASSERT_NEAR(free.p[i], held.p[i], 1e-9);
  }
  EXPECT_EQ(free.value, local_moran(places, values, 40, {}).value);
}

TEST(LocalMoran, HasNoValueWithoutNeighboursOrDifferences) {
  const std::vector<Point> places = {{0, 0}, {1, 0}, {2, 0}, {100, 0}};
  const std::vector<double> values = {1, 3, 4, 9};
  const LocalMoran local = local_moran(places, values, 1.5, {});
  EXPECT_THAT(local.value[3], IsNan());
  EXPECT_THAT(local.p[3], IsNan());
  EXPECT_TRUE(std::isfinite(local.p[0]));
  EXPECT_THAT(local_moran(places, std::vector<double>(4, 2.0), 1.5, {}).p, Each(IsNan()));
  EXPECT_EQ(moran(std::vector<double>(4, 2.0), chain()).p, 1);
}

TEST(LocalMoran, RefusesWhatDoesNotFit) {
  const std::vector<Point> places = drawn::places(5, 10, 10, 27);
  EXPECT_THROW(local_moran(places, std::vector<double>(4, 1.0), 5, {}), std::invalid_argument);
  EXPECT_THROW(local_moran(places, std::vector<double>{1, 2, no_value, 3, 4}, 5, {}),
               std::invalid_argument);
  EXPECT_THROW(moran(std::vector<double>{1, 2, 3}, {}), std::invalid_argument);
}

TEST(LocalBivariateMoran, FindsWhereBothAreLowTogether) {
  const std::vector<Point> places = drawn::places(300, 100, 100, 28);
  std::vector<double> x = drawn::noise(300, 29);
  std::vector<double> y = drawn::noise(300, 30);
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (distance_m(places[i], {30, 30}) > 20) continue;
    x[i] -= 1;
    y[i] -= 1;
  }
  const NeighbourWeights weights = neighbours_within(places, 12, {});
  const LocalPair local = local_bivariate_moran(x, y, weights, 999, 7, {});
  const std::vector<double> p = false_discovery_adjusted(local.p);
  int inside = 0;
  int inside_found = 0;
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (distance_m(places[i], {30, 30}) > 14) continue;
    ++inside;
    if (p[i] <= 0.05 && local.value[i] > 0) ++inside_found;
  }
  ASSERT_GT(inside, 10);
  EXPECT_EQ(inside_found, inside);
}

TEST(LocalBivariateMoran, GivesPEvenlySpreadWhereNothingGoesTogether) {
  const std::vector<Point> places = drawn::places(1000, 200, 200, 31);
  const NeighbourWeights weights = neighbours_within(places, 12, {});
  Work two;
  two.threads = 2;
  const LocalPair local =
      local_bivariate_moran(drawn::noise(1000, 32), drawn::noise(1000, 33), weights, 199, 8, two);
  const auto below =
      std::count_if(local.p.begin(), local.p.end(), [](double p) { return p <= 0.2; });
  EXPECT_NEAR(static_cast<double>(below), 200,
              75);  // neighbours share values: 3 x 2 binomial errors
  EXPECT_EQ(
      local.p,
      local_bivariate_moran(drawn::noise(1000, 32), drawn::noise(1000, 33), weights, 199, 8, {}).p);
}

TEST(FalseDiscovery, AdjustsByRankAndLeavesWhatHasNoValue) {
  // By hand: m = 4; 0.01 x 4/1, 0.02 x 4/2, 0.03 x 4/3 = 0.04, 0.5.
  const std::vector<double> p = {0.5, 0.01, no_value, 0.03, 0.02};
  const std::vector<double> adjusted = false_discovery_adjusted(p);
  EXPECT_NEAR(adjusted[0], 0.5, 1e-15);
  EXPECT_NEAR(adjusted[1], 0.04, 1e-15);
  EXPECT_THAT(adjusted[2], IsNan());
  EXPECT_NEAR(adjusted[3], 0.04, 1e-15);
  EXPECT_NEAR(adjusted[4], 0.04, 1e-15);
  EXPECT_TRUE(false_discovery_adjusted({}).empty());
}

}  // namespace
}  // namespace evendrip
