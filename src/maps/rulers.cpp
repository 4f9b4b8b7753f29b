// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/rulers.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

namespace evendrip {

namespace {

/// Smallest of the factors times a power of ten that is not below `value`, within rounding.
double round_up(double value, std::span<const double> factors) {
  const double power = std::pow(10.0, std::floor(std::log10(value)));
  for (const double factor : factors) {
    if (factor * power >= value * (1 - 1e-9)) return factor * power;
  }
  return 10 * power;
}

int parts_of(double length) {
  const double power = std::pow(10.0, std::floor(std::log10(length) + 1e-9));
  return std::lround(length / power) == 5 ? 5 : 4;
}

}  // namespace

double round_step(double range, int parts) {
  if (!(range > 0) || !std::isfinite(range)) return 1;
  constexpr std::array<double, 3> factors = {1, 2, 5};
  return round_up(range / std::max(parts, 1), factors);
}

std::vector<double> multiples_within(double low, double high, double step) {
  std::vector<double> values;
  const double first = std::ceil(low / step - 1e-9);
  const double last = std::floor(high / step + 1e-9);
  if (!(first <= last)) return values;
  const auto more = static_cast<long>(last - first);
  for (long i = 0; i <= more; ++i) {
    const double k = first + static_cast<double>(i);
    values.push_back(k == 0 ? 0 : k * step);
  }
  return values;
}

int decimals_of(double step) {
  int decimals = 0;
  double scaled = std::abs(step);
  while (decimals < 9 && std::abs(scaled - std::round(scaled)) > 1e-6 * scaled) {
    scaled *= 10;
    ++decimals;
  }
  return decimals;
}

ScaleBar scale_bar(double paper_per_grid_m, double scale_factor, double longest, UnitSystem units) {
  ScaleBar bar;
  const double paper_per_ground_m = paper_per_grid_m * scale_factor;
  const double longest_m = longest / paper_per_ground_m;
  const double small_m = units == UnitSystem::us ? to_canonical(1, "ft", Dimension::length) : 1;
  const double large_m = to_canonical(1, units == UnitSystem::us ? "mi" : "km", Dimension::length);
  const bool large = longest_m >= 2 * large_m;
  bar.unit_m = large ? large_m : small_m;
  bar.unit = units == UnitSystem::us ? (large ? "mi" : "ft") : (large ? "km" : "m");
  constexpr std::array<double, 3> factors = {1, 2, 5};
  // The step above the limit is taken back: 1 from 2, 2 from 5, 5 from 10.
  const double limit = longest_m / bar.unit_m;
  double length = round_up(limit, factors);
  if (length > limit * (1 + 1e-9)) {
    const bool was_five =
        std::lround(length / std::pow(10.0, std::floor(std::log10(length) + 1e-9))) == 5;
    length *= was_five ? 0.4 : 0.5;
  }
  const int parts = parts_of(length);
  for (int i = 0; i <= parts; ++i) bar.marks.push_back(length * i / parts);
  bar.ground_m = length * bar.unit_m;
  bar.paper = bar.ground_m * paper_per_ground_m;
  return bar;
}

double round_denominator(double at_least) {
  constexpr std::array<double, 9> factors = {1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 7.5};
  return round_up(at_least, factors);
}

}  // namespace evendrip
