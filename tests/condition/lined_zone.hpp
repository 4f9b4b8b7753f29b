// SPDX-License-Identifier: Apache-2.0
// A zone of straight laterals with a crop drawn over it, pixel by pixel.
#pragma once

#include <cmath>
#include <cstdint>
#include <random>
#include <utility>
#include <vector>

#include "evendrip/condition/placebo.hpp"
#include "evendrip/condition/zone_data.hpp"

namespace evendrip::test {

/// 24 laterals that run north from y = 0 to 60, 1.5 m apart.
inline Field lined_field() {
  Field field;
  field.zones.resize(1);
  field.zones[0].area = {{{{0, 0}, {36, 0}, {36, 60}, {0, 60}}, {}}};
  for (int i = 0; i < 24; ++i) {
    Lateral lateral;
    lateral.zone = 0;
    lateral.length_m = 60;
    const double x = 0.75 + 1.5 * i;
    lateral.line = {{x, 0}, {x, 60}};
    field.laterals.push_back(lateral);
  }
  return field;
}

/// What laterals lack, by lateral.
using Lows = std::vector<std::pair<int, double>>;

/// A crop layer over it, in pixels of that side, each of a value by its place.
template <class Value>
CropEvidence drawn(double side_m, const Value& value_at) {
  CropEvidence evidence;
  evidence.kind = "biomass";
  evidence.median = 1;
  evidence.typical.along_m = evidence.typical.across_m = side_m;
  for (double y = side_m / 2; y < 60; y += side_m)
    for (double x = side_m / 2; x < 36; x += side_m) {
      EvidenceDatum datum;
      datum.place = {x, y};
      datum.along_m = datum.across_m = static_cast<float>(side_m);
      datum.value = value_at(datum.place);
      evidence.data.push_back(datum);
    }
  return evidence;
}

/// Share of what lacks on laterals 6 to 8, 12 and 17 at a place so many laterals across, by a
/// normal reach of so many spacings; 0: of the nearest lateral alone.
inline double low_at(double across, double reach) {
  double low = 0;
  double sum = 0;
  for (int lateral = 0; lateral < 24; ++lateral) {
    const double off = std::abs(lateral - across);
    const double weight =
        reach > 0 ? std::exp(-0.5 * off * off / (reach * reach)) : (off <= 0.5 ? 1 : 0);
    const bool lacks = (lateral >= 6 && lateral <= 8) || lateral == 12 || lateral == 17;
    low += lacks ? weight : 0;
    sum += weight;
  }
  return low / sum;
}

/// Those laterals lack so much of the crop, in pixels of half a spacing; the map lies so far beside
/// them, to where x grows.
inline CropEvidence drawn_by(double reach, double lack = 0.3, double beside_m = 0) {
  std::mt19937_64 stream(3);
  std::normal_distribution<double> noise(0, 0.02);
  return drawn(0.75, [&](Point p) {
    return 1 - lack * low_at((p.x - beside_m) / 1.5 - 0.5, reach) + noise(stream);
  });
}

/// Pixels of 1.5 m: soil in waves of 50 m, noise, and laterals that are low.
inline CropEvidence seen_with(const Lows& lows, std::mt19937_64& of_soil,
                              std::mt19937_64& of_noise) {
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> phase(0, 6.28);
  const double first = phase(of_soil);
  const double second = phase(of_soil);
  return drawn(1.5, [&](Point p) {
    double value = 1 + 0.05 * std::sin(0.09 * p.x + 0.09 * p.y + first) +
                   0.05 * std::cos(0.1 * p.x - 0.08 * p.y + second) + 0.03 * normal(of_noise);
    for (const auto& [lateral, lack] : lows)
      if (lateral == static_cast<int>(p.x / 1.5)) value -= lack;
    return value;
  });
}

/// The same soil on another day.
inline CropEvidence seen_again(const Lows& lows, std::uint64_t soil, std::uint64_t noise) {
  std::mt19937_64 of_soil(soil);
  std::mt19937_64 of_noise(noise);
  return seen_with(lows, of_soil, of_noise);
}

/// Laterals 6 and 15 lack water where `faults`.
inline CropEvidence seen(bool faults, std::uint64_t seed) {
  std::mt19937_64 stream(seed);
  return seen_with(faults ? Lows{{6, 0.2}, {15, 0.2}} : Lows{}, stream, stream);
}

inline PlaceboRank rank_of(bool faults, std::uint64_t seed, int threads = 1) {
  const Field field = lined_field();
  const SegmentGrid grid = segment_grid(field, 0, 10);
  const CropEvidence evidence = seen(faults, seed);
  Work work;
  work.threads = threads;
  return placebo_rank(field, 0, grid, evidence, crop_data(field, grid, evidence, work), {}, work);
}

}  // namespace evendrip::test
