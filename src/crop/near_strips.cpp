// SPDX-License-Identifier: Apache-2.0
#include "near_strips.hpp"

#include <limits>
#include <numeric>
#include <stdexcept>
#include <tuple>

namespace evendrip {
namespace {

/// Searching a strip costs as much as testing about a dozen points; the points tested grow with the
/// height of strips, their number with its inverse.
double strip_height_m(const Extent& extent, std::size_t points, double within_m) {
  const double count = static_cast<double>(points);
  const double best = std::sqrt(6 * extent.width() * extent.height() / count);
  const double height = std::clamp(best, within_m / 64, within_m / 4);
  return std::max(height, extent.height() / (4 * count + 1000));
}

double most_squared(double within_m) {
  constexpr double infinite = std::numeric_limits<double>::infinity();
  double squared = within_m * within_m;
  while (std::sqrt(squared) > within_m) squared = std::nextafter(squared, 0.0);
  while (std::sqrt(std::nextafter(squared, infinite)) <= within_m)
    squared = std::nextafter(squared, infinite);
  return squared;
}

}  // namespace

NearStrips::NearStrips(std::span<const Point> places, double within_m)
    : within_m_(within_m), begins_{0, 0} {
  if (!(within_m > 0) || !std::isfinite(within_m * within_m))
    throw std::invalid_argument("neighbours within a distance that is not above 0");
  Extent extent;
  for (const Point p : places) {
    if (!std::isfinite(p.x) || !std::isfinite(p.y))
      throw std::invalid_argument("neighbours of a place that is not finite");
    extent.include(p);
  }
  if (places.empty()) return;
  most_squared_ = most_squared(within_m);
  const double farthest = std::max({std::abs(extent.x_min), std::abs(extent.x_max),
                                    std::abs(extent.y_min), std::abs(extent.y_max), within_m});
  margin_m_ = 1e-9 * within_m + 1e-14 * farthest;
  south_ = extent.y_min;
  height_m_ = strip_height_m(extent, places.size(), within_m);
  begins_.assign(static_cast<std::size_t>(extent.height() / height_m_) + 2, 0);
  numbers_.resize(places.size());
  std::iota(numbers_.begin(), numbers_.end(), 0);
  const auto key = [&](int number) {
    const Point p = places[static_cast<std::size_t>(number)];
    return std::tuple(strip_of(p.y), p.x, p.y, number);
  };
  std::sort(numbers_.begin(), numbers_.end(), [&](int a, int b) { return key(a) < key(b); });
  for (const int number : numbers_) {
    const Point p = places[static_cast<std::size_t>(number)];
    places_.push_back(p);
    eastings_.push_back(p.x);
    ++begins_[strip_of(p.y) + 1];
  }
  std::partial_sum(begins_.begin(), begins_.end(), begins_.begin());
}

}  // namespace evendrip
