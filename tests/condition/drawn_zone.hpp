// SPDX-License-Identifier: Apache-2.0
// A zone of 24 laterals drawn from the model itself: what its parts are is known.
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <random>
#include <utility>
#include <vector>

#include "evendrip/condition/zone_model.hpp"

namespace evendrip::test {

inline SegmentGrid small_grid(int laterals = 24, int stations = 12) {
  SegmentGrid grid;
  grid.zone = 0;
  grid.step_m = 10;
  for (int i = 0; i < laterals; ++i) {
    grid.laterals.push_back(i);
    grid.across_m.push_back(1.5 * i);
    grid.lengths_m.push_back(10.0 * stations);
  }
  for (int k = 0; k < stations; ++k) grid.stations_m.push_back(10 * k + 5);
  return grid;
}

/// Draws of a chain exp(-d / range) at sorted places.
inline std::vector<double> chain(const std::vector<double>& places_m, double range_m, double sd,
                                 std::mt19937_64& stream) {
  std::normal_distribution<double> normal;
  std::vector<double> out{sd * normal(stream)};
  for (std::size_t i = 1; i < places_m.size(); ++i) {
    const double rho = std::exp(-(places_m[i] - places_m[i - 1]) / range_m);
    out.push_back(rho * out.back() + sd * std::sqrt(1 - rho * rho) * normal(stream));
  }
  return out;
}

struct DrawnZone {
  SegmentGrid grid = small_grid();
  ConditionRanges ranges;
  std::vector<double> r;     ///< of each segment
  std::vector<double> soil;  ///< likewise: of the datum on it
  std::vector<HoleDatum> holes;
  std::vector<CropDatum> crop;  ///< one on each segment
};

/// Without holes and crop.
inline DrawnZone bare_zone(SegmentGrid grid = small_grid()) {
  DrawnZone zone;
  zone.grid = std::move(grid);
  zone.ranges = ranges_of(zone.grid, 1);
  return zone;
}

/// Holes on every fourth lateral, at every third station. Soil is a sum of waves of random
/// directions, 60 to 200 m long, which is not the model's own.
inline DrawnZone drawn_zone(const ConditionParameters& p, std::uint64_t seed) {
  DrawnZone zone = bare_zone();
  std::mt19937_64 stream(seed);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> turn(0, 6.283185307179586);
  const double level = 0.03 * normal(stream);
  const auto along = chain(zone.grid.stations_m, zone.ranges.along_m, p.along, stream);
  const auto group = chain(zone.grid.across_m, zone.ranges.group_m, p.group, stream);
  const double soil_sd = std::hypot(p.soil_short, p.soil_long);
  std::vector<std::array<double, 3>> waves;
  for (int i = 0; i < 40; ++i) {
    const double angle = turn(stream);
    const double k = 6.283185307179586 / (60 + 140 * turn(stream) / 6.283185307179586);
    waves.push_back({k * std::cos(angle), k * std::sin(angle), turn(stream)});
  }
  for (int row = 0; row < zone.grid.rows(); ++row) {
    const double own = p.own * normal(stream);
    for (int station = 0; station < zone.grid.stations(); ++station) {
      const Point place{zone.grid.across_m[static_cast<std::size_t>(row)],
                        zone.grid.stations_m[static_cast<std::size_t>(station)]};
      const double r = 1 + level + along[static_cast<std::size_t>(station)] +
                       group[static_cast<std::size_t>(row)] + own;
      double soil = 0;
      for (const auto& wave : waves)
        soil += std::cos(wave[0] * place.x + wave[1] * place.y + wave[2]);
      soil *= soil_sd * std::sqrt(2.0 / static_cast<double>(waves.size()));
      zone.r.push_back(r);
      zone.soil.push_back(soil);
      if (row % 4 == 1 && station % 3 == 1)
        zone.holes.push_back({row, station, r + p.emitter * normal(stream), 1e-6});
      zone.crop.push_back({{row * zone.grid.stations() + station},
                           {1},
                           place,
                           1 + p.response * (r - 1) + soil + p.crop_error * normal(stream)});
    }
  }
  return zone;
}

inline double rms_difference(const std::vector<double>& a, const std::vector<double>& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - b[i]) * (a[i] - b[i]);
  return std::sqrt(sum / static_cast<double>(a.size()));
}

}  // namespace evendrip::test
