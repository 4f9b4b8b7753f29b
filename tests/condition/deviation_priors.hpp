// SPDX-License-Identifier: Apache-2.0
// The priors of a zone's deviations as zone_model.hpp states them, for tests.
#pragma once

#include <array>
#include <numbers>

namespace evendrip::test {

/// Scaled beta2: s / (scale + s)^(2 + tail) at the deviation s.
struct ScaledBeta2 {
  double scale = 0;
  double tail = 0;
};

/// Of a part of the water: median 0.015.
constexpr ScaledBeta2 of_water{0.015 / (1 + std::numbers::sqrt2), 1};

/// In the order of the fitted parameters, but for the response.
constexpr std::array<ScaledBeta2, 8> deviation_priors = {
    of_water, of_water, of_water, of_water, {0.05, 2}, {0.06, 2}, {0.06, 2}, {0.05, 2}};

}  // namespace evendrip::test
