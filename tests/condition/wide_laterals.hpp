// SPDX-License-Identifier: Apache-2.0
// Zones whose laterals differ by a tenth and more, half of them above what the crop needs.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>

#include "drawn_zone.hpp"

namespace evendrip::test {

inline ConditionParameters wide_laterals(double crop_error) {
  ConditionParameters p;
  p.along = p.group = p.local = 0.01;
  p.own = 0.15;
  p.emitter = 0.03;
  p.soil_short = p.soil_long = 0.02;
  p.crop_error = crop_error;
  p.response = 0.9;
  return p;
}

/// A drawn zone whose crop does not answer to more than it needs.
inline DrawnZone saturated_zone(const ConditionParameters& p, std::uint64_t seed) {
  DrawnZone zone = drawn_zone(p, seed);
  for (CropDatum& datum : zone.crop) {
    const double r = zone.r[static_cast<std::size_t>(datum.segments[0])];
    datum.value -= p.response * std::max(0.0, r - 1);
  }
  return zone;
}

}  // namespace evendrip::test
