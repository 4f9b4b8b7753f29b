// SPDX-License-Identifier: Apache-2.0
// The priors of a zone's deviations as zone_model.hpp states them, for tests.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>

#include "evendrip/condition/zone_model.hpp"

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

/// Parameters drawn from their priors.
inline ConditionParameters drawn_parameters(std::uint64_t seed) {
  std::mt19937_64 stream(seed);
  std::gamma_distribution<double> two(2, 1);
  std::gamma_distribution<double> one(1, 1);
  std::normal_distribution<double> normal;
  ConditionParameters p;
  for (std::size_t i = 0; i < deviation_priors.size(); ++i) {
    const auto& [scale, tail] = deviation_priors[i];
    const double above = two(stream);  // scaled beta2: the ratio of two gammas
    const double below = tail == 1 ? one(stream) : two(stream);
    p.*fitted_parameters[i] = std::clamp(scale * above / below, 1e-3, 1.0);
  }
  p.response = 0.8 * std::exp(0.5 * normal(stream));
  return p;
}

}  // namespace evendrip::test
