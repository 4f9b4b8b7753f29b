// SPDX-License-Identifier: Apache-2.0
#include "../../src/crop/odd_yields.hpp"

#include "invented_harvest.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "evendrip/base/median.hpp"
#include "evendrip/base/random.hpp"
#include "evendrip/crop/moran.hpp"

namespace evendrip {
namespace {

/// Passes of 40 records 2 m apart, 6 m from pass to pass, with noise and a few spikes.
HarvestLog small_log(std::uint64_t seed, int passes = 12) {
  std::mt19937_64 stream = item_stream(seed, {});
  boost::random::normal_distribution<double> normal;
  HarvestLog log;
  for (int pass = 0; pass < passes; ++pass)
    for (int k = 0; k < 40; ++k) {
      const double y = pass % 2 == 0 ? 2 * k : 78 - 2 * k;
      log.places.push_back({6.0 * pass, y});
      log.time_s.push_back(1000 * pass + k);
      const double spike = stream() % 40 == 0 ? 3 : 0;
      log.yield_t_ha.push_back(8 + 0.5 * std::sin(y / 15) + 0.3 * normal(stream) + spike);
      log.machine.push_back(0);
    }
  return log;
}

/// By sorting all neighbours of every record, straight from the definitions.
std::vector<char> odd_by_force(const HarvestLog& log, const DrivenLog& driven,
                               const NeighbourTests& tests) {
  const std::size_t n = log.size();
  const std::vector<char> kept(n, 1);
  const std::vector<double> along = along_pass_medians(driven, log.yield_t_ha, kept);
  std::vector<double> middle(n), deviation(n), from_pass(n);
  for (std::size_t i = 0; i < n; ++i) {
    std::vector<double> values;
    for (std::size_t j = 0; j < n; ++j)
      if (j != i && distance_m(log.places[i], log.places[j]) <= tests.within_m)
        values.push_back(log.yield_t_ha[j]);
    middle[i] = median_of(values);
    for (double& v : values) v = std::abs(v - middle[i]);
    deviation[i] = 1.4826 * median_of(values);
    from_pass[i] = std::abs(log.yield_t_ha[i] - along[i]);
  }
  const double usual = median_of(deviation);
  const double pass_deviation = 1.4826 * median_of(from_pass);
  const LocalMoran local = local_moran(log.places, log.yield_t_ha, tests.within_m, {});
  const std::vector<double> p = false_discovery_adjusted(local.p);
  std::vector<char> odd(n, 0);
  for (std::size_t i = 0; i < n; ++i) {
    const bool median =
        std::abs(log.yield_t_ha[i] - middle[i]) > tests.limit * std::max(usual, deviation[i]);
    const bool moran = local.value[i] < 0 && p[i] <= tests.false_discovery_rate;
    odd[i] = (median && from_pass[i] > tests.limit * pass_deviation) ||
                     (moran && from_pass[i] > 0.5 * tests.limit * pass_deviation)
                 ? 1
                 : 0;
  }
  return odd;
}

TEST(OddYields, AreThoseThatSortingAllNeighboursFinds) {
  std::size_t found = 0;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const HarvestLog log = small_log(seed);
    const DrivenLog driven = driven_log(log, 1);
    for (const double limit : {2.5, 4.0}) {
      const NeighbourTests tests{13, limit, 0.05};
      const OddNeighbours odd =
          odd_neighbours(log, driven, log.yield_t_ha, std::vector<char>(log.size(), 1), tests, {});
      EXPECT_EQ(odd.all.odd, odd_by_force(log, driven, tests)) << seed;
      found += static_cast<std::size_t>(std::count(odd.all.odd.begin(), odd.all.odd.end(), 1));
    }
  }
  EXPECT_GT(found, 50U);
}

TEST(OddYields, MediansAlongAPassLeaveOutTheRecordAndOtherPasses) {
  HarvestLog log = small_log(1, 2);
  for (std::size_t i = 0; i < log.size(); ++i) log.yield_t_ha[i] = static_cast<double>(i);
  std::vector<char> kept(log.size(), 1);
  const DrivenLog driven = driven_log(log, 1);
  std::vector<double> medians = along_pass_medians(driven, log.yield_t_ha, kept);
  EXPECT_EQ(medians[20], 20);
  EXPECT_EQ(medians[0], 2.5);    // 1, 2, 3, 4
  EXPECT_EQ(medians[39], 36.5);  // 35 to 38, none of the next pass
  kept[21] = 0;
  medians = along_pass_medians(driven, log.yield_t_ha, kept);
  EXPECT_EQ(medians[20], 20.5);  // 16 to 19 and 22 to 25
  EXPECT_TRUE(std::isnan(medians[21]));
}

TEST(OddYields, RobustBoundsAreOfTheKeptAlone) {
  const std::vector<double> yields = {1, 2, 3, 4, 5, 1000};
  const std::vector<char> kept = {1, 1, 1, 1, 1, 0};
  const RobustBounds bounds = robust_bounds(yields, kept, 2);
  EXPECT_EQ(bounds.middle, 3);
  EXPECT_NEAR(bounds.deviation, 1.4826, 1e-12);
  EXPECT_NEAR(bounds.high, 3 + 2 * 1.4826, 1e-12);
  EXPECT_NEAR(bounds.low, 3 - 2 * 1.4826, 1e-12);
}

TEST(OddYields, BeyondTheBoundsAreSparedInCompanyOnly) {
  HarvestLog log = small_log(3);
  for (double& yield : log.yield_t_ha) yield = std::min(yield, 9.5);
  const std::size_t alone = 3 * 40 + 12;
  log.yield_t_ha[alone] = 2;
  for (std::size_t k = 20; k < 30; ++k) log.yield_t_ha[7 * 40 + k] = 2;  // a strip
  const std::vector<char> kept(log.size(), 1);
  const RobustBounds bounds = robust_bounds(log.yield_t_ha, kept, 4);
  const OddYields odd =
      beyond_bounds(log, driven_log(log, 1), log.yield_t_ha, kept, bounds, 13, {});
  EXPECT_EQ(odd.odd[alone], 1);
  for (std::size_t k = 21; k < 29; ++k) EXPECT_EQ(odd.odd[7 * 40 + k], 0) << k;
  EXPECT_GE(odd.spared, 8U);
}

}  // namespace
}  // namespace evendrip
