// SPDX-License-Identifier: Apache-2.0
// The limits on simulated zones whose uniformity is known: a short form of
// tests/bench/run_limits.sh.
#include "evendrip/uniformity/limits.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include <boost/random/uniform_01.hpp>

#include "evendrip/base/random.hpp"

#include "../bench/simulated_zone.hpp"

namespace evendrip {
namespace {

using bench::Scenario;

constexpr int zones = 200;

struct Held {
  double both = 0;
  double lower = 0;
  double width = 0;
};

template <typename MakeZone>
Held shares_held(const MakeZone& make_zone, bench::Design design) {
  Held held;
  for (int z = 0; z < zones; ++z) {
    // Seeds of their own, apart from those of the benchmark.
    const auto seed = static_cast<std::uint64_t>(500'000 + z);
    const bench::SimulatedZone zone = make_zone(seed);
    const double truth = low_quarter_uniformity(zone.all());
    LimitOptions options;
    options.draws = 1000;
    options.seed = seed;
    options.comparisons = false;
    const Limits limits = confidence_limits(bench::dig(zone, design, seed), options)
                              .of(Measure::low_quarter)
                              .two_part;
    if (truth >= limits.lower) held.lower += 1.0 / zones;
    if (truth >= limits.lower && truth <= limits.upper) held.both += 1.0 / zones;
    held.width += (limits.upper - limits.lower) / zones;
  }
  return held;
}

/// A share this much below what is stated is not chance: three standard errors.
double slack(double share) {
  return 3 * std::sqrt(share * (1 - share) / zones);
}

TEST(SimulatedCoverage, OfTheDefaultIsWhatIsStated) {
  const auto stated = simulated_coverage(LimitMethod::two_part);
  ASSERT_TRUE(stated.has_value());
  for (const Scenario scenario : bench::all_scenarios) {
    for (const bench::Design design : {bench::all_designs[0], bench::all_designs[1]}) {
      SCOPED_TRACE(bench::to_text(scenario));
      const Held held = shares_held(
          [&](std::uint64_t seed) { return bench::simulate_zone(scenario, seed); }, design);
      EXPECT_GE(held.both, stated->least_frac - slack(stated->least_frac));
      EXPECT_GE(held.lower, stated->least_lower_frac - slack(stated->least_lower_frac));
    }
  }
}

/// A clean zone, 15 % of whose laterals let nine in ten of their emitters run at 30 to 90 %, one
/// figure for the lateral.
bench::SimulatedZone zone_of_slow_laterals(std::uint64_t seed) {
  bench::SimulatedZone zone = bench::simulate_zone(Scenario::clean, seed);
  std::mt19937_64 stream = item_stream(seed, {77});
  boost::random::uniform_01<double> even;
  for (std::vector<double>& lateral : zone.laterals) {
    const bool slow = even(stream) < 0.15;
    const double part = 0.3 + 0.6 * even(stream);
    for (double& q : lateral) {
      if (even(stream) < 0.9 && slow) q *= part;
    }
  }
  return zone;
}

TEST(SimulatedCoverage, HoldsWhereAFewLateralsRunSlowAndTheLimitsStaySomeUse) {
  for (const bench::Design design : {bench::Design{9, 4}, bench::Design{9, 8}}) {
    SCOPED_TRACE(design.emitters_each);
    const Held held = shares_held(zone_of_slow_laterals, design);
    EXPECT_GE(held.both, 0.93 - slack(0.93));
    EXPECT_GE(held.lower, 0.95 - slack(0.95));
    EXPECT_LE(held.width, 0.65);
  }
}

}  // namespace
}  // namespace evendrip
