// SPDX-License-Identifier: Apache-2.0
// Places and numbers from seeded streams, for the tests of neighbours.
#pragma once

#include <random>
#include <vector>

#include "evendrip/base/random.hpp"
#include "evendrip/geo/shapes.hpp"

namespace evendrip::drawn {

/// From 0 to 1.
inline double share(std::mt19937_64& stream) {
  return static_cast<double>(stream() >> 11U) * 0x1.0p-53;
}

/// Anywhere in a rectangle.
inline std::vector<Point> places(std::size_t count, double width_m, double height_m,
                                 std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {1});
  std::vector<Point> points;
  while (points.size() < count) {
    const double x = width_m * share(stream);
    points.push_back({x, height_m * share(stream)});
  }
  return points;
}

/// From 0 to 1, whatever the place.
inline std::vector<double> noise(std::size_t count, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {2});
  std::vector<double> values;
  while (values.size() < count) values.push_back(share(stream));
  return values;
}

}  // namespace evendrip::drawn
