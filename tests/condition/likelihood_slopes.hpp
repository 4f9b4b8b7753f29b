// SPDX-License-Identifier: Apache-2.0
// Slopes of a zone's likelihood against differences of it.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <span>

#include "evendrip/condition/zone_model.hpp"

namespace evendrip::test {

/// Central differences of fourth order in the logarithm of one parameter.
inline double slope_by_differences(const ZoneModel& model, const ConditionParameters& p,
                                   std::size_t which, std::span<const double> weights = {}) {
  constexpr double step = 0.01;
  const auto shifted = [&](double steps) {
    ConditionParameters moved = p;
    moved.*fitted_parameters[which] *= std::exp(steps * step);
    return *model.log_likelihood(moved, weights);
  };
  return (8 * (shifted(1) - shifted(-1)) - (shifted(2) - shifted(-2))) / (12 * step);
}

/// Of every parameter, each to `share` of its slope and 1.
inline void expect_slopes(const ZoneModel& model, const ConditionParameters& p, double share,
                          std::span<const double> weights = {}) {
  const auto found = model.slope_at(p, weights);
  ASSERT_TRUE(found);
  EXPECT_EQ(found->log_likelihood, *model.log_likelihood(p, weights));
  for (std::size_t i = 0; i < fitted_count; ++i) {
    const double wanted = slope_by_differences(model, p, i, weights);
    EXPECT_NEAR(found->slope[i], wanted, share * (1 + std::abs(wanted))) << i;
  }
}

}  // namespace evendrip::test
