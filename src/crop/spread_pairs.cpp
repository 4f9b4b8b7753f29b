// SPDX-License-Identifier: Apache-2.0
#include "spread_pairs.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>

#include "evendrip/crop/association.hpp"

namespace evendrip {
namespace {

constexpr double steps_per_side = 1U << 20U;

/// The bits of a number with a gap after each.
std::uint64_t spaced(std::uint64_t bits) {
  std::uint64_t out = 0;
  for (unsigned k = 0; k < 21; ++k) out |= ((bits >> k) & 1U) << (2 * k);
  return out;
}

std::uint64_t along_curve(Point place, const Extent& extent) {
  const double side = std::max({extent.width(), extent.height(), 1e-9});
  const auto step = [&](double from_edge) {
    return static_cast<std::uint64_t>(from_edge / side * (steps_per_side - 1));
  };
  return spaced(step(place.x - extent.x_min)) | (spaced(step(place.y - extent.y_min)) << 1U);
}

bool is_finite(Point place) {
  return std::isfinite(place.x) && std::isfinite(place.y);
}

}  // namespace

std::vector<std::size_t> spread_over(std::span<const Point> places, std::size_t most) {
  Extent extent;
  for (const Point place : places) {
    if (is_finite(place)) extent.include(place);
  }
  std::vector<std::pair<std::uint64_t, std::size_t>> order;
  order.reserve(places.size());
  for (std::size_t i = 0; i < places.size(); ++i) {
    order.emplace_back(is_finite(places[i]) ? along_curve(places[i], extent)
                                            : std::numeric_limits<std::uint64_t>::max(),
                       i);
  }
  std::sort(order.begin(), order.end());
  const std::size_t wanted = std::min(most, places.size());
  std::vector<std::size_t> taken;
  taken.reserve(wanted);
  // Middles of as many equal parts; 2 k + 1 of 2 parts keeps to whole numbers.
  for (std::size_t k = 0; k < wanted; ++k)
    taken.push_back(order[(2 * k + 1) * places.size() / (2 * wanted)].second);
  std::sort(taken.begin(), taken.end());
  return taken;
}

}  // namespace evendrip
