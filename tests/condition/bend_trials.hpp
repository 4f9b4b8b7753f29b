// SPDX-License-Identifier: Apache-2.0
// Whether a bend is chosen, over drawn zones.
#pragma once

#include <gtest/gtest.h>

#include <cstdint>
#include <vector>

#include "../../src/condition/bent_choice.hpp"
#include "wide_laterals.hpp"

namespace evendrip::test {

struct BendTrials {
  int bent = 0;
  double straight_error = 0;  ///< sums of root mean squares
  double bent_error = 0;
};

inline DrawnZone zone_to_bend(std::uint64_t seed, bool saturated) {
  const ConditionParameters p = wide_laterals(0.02);
  return saturated ? saturated_zone(p, seed) : drawn_zone(p, seed);
}

/// Of the seeds from `first` to `last`. Expects that a bend gains and that without one the estimate
/// stays as it was.
inline BendTrials bend_trials(std::uint64_t first, std::uint64_t last, bool saturated) {
  BendTrials trials;
  for (std::uint64_t seed = first; seed <= last; ++seed) {
    const DrawnZone zone = zone_to_bend(seed, saturated);
    ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    auto condition = zone_condition(model, 0.3);
    EXPECT_TRUE(condition);
    if (!condition) continue;
    const std::vector<double> before = condition->estimate.r;
    trials.straight_error += rms_difference(before, zone.r);
    const auto choice = choose_bend(model, 0.3, *condition, {});
    trials.bent_error += rms_difference(condition->estimate.r, zone.r);
    if (choice) {
      ++trials.bent;
      EXPECT_GT(choice->gain, 0);
      EXPECT_EQ(choice->kink.beyond, 0);
    } else if (!saturated) {
      EXPECT_EQ(condition->estimate.r, before);
    }
  }
  return trials;
}

}  // namespace evendrip::test
