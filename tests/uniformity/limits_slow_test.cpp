// SPDX-License-Identifier: Apache-2.0
// The limits on simulated zones whose uniformity is known: a short form of
// tests/bench/run_limits.sh.
#include "evendrip/uniformity/limits.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "../bench/simulated_zone.hpp"

namespace evendrip {
namespace {

using bench::Scenario;

constexpr int zones = 200;

struct Held {
  double both = 0;
  double lower = 0;
};

Held shares_held(Scenario scenario, bench::Design design) {
  Held held;
  for (int z = 0; z < zones; ++z) {
    // Seeds of their own, apart from those of the benchmark.
    const auto seed = static_cast<std::uint64_t>(500'000 + z);
    const bench::SimulatedZone zone = bench::simulate_zone(scenario, seed);
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
      const Held held = shares_held(scenario, design);
      EXPECT_GE(held.both, stated->least_frac - slack(stated->least_frac));
      EXPECT_GE(held.lower, stated->least_lower_frac - slack(stated->least_lower_frac));
    }
  }
}

}  // namespace
}  // namespace evendrip
