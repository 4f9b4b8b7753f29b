// SPDX-License-Identifier: Apache-2.0
// Samples shared by the tests of surfaces.
#pragma once

#include <cmath>
#include <cstddef>
#include <random>

#include "evendrip/surface/sample.hpp"

namespace evendrip {

inline Sample sample_at(double x, double y, double value, int zone = -1) {
  Sample sample;
  sample.site.place = {x, y};
  sample.site.zone = zone;
  sample.value = value;
  return sample;
}

/// Values that vary smoothly over a square of side_m, far from the origin of its coordinates.
inline Samples scattered(std::size_t count, double side_m = 100, unsigned seed = 7) {
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> place(0, side_m);
  std::normal_distribution<double> noise(0, 0.1);
  Samples samples;
  for (std::size_t i = 0; i < count; ++i) {
    const double x = place(random);
    const double y = place(random);
    const double value = 1 + std::sin(6 * x / side_m) * std::cos(4 * y / side_m) + noise(random);
    samples.push_back(sample_at(500000 + x, 4100000 + y, value));
  }
  return samples;
}

}  // namespace evendrip
