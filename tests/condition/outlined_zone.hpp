// SPDX-License-Identifier: Apache-2.0
// A zone with a low place whose edges the crop shows, and holes on every fourth lateral.
#pragma once

#include <cstdint>
#include <random>
#include <utility>

#include "drawn_zone.hpp"

namespace evendrip::test {

/// The far ends of the first laterals.
inline constexpr SharpPatch corner{0, 8, 80, 120};

/// Whether the middle of a segment is.
inline bool is_in(const SegmentGrid& grid, const SharpPatch& patch, int row, int station) {
  return patch.holds(row, grid.stations_m[static_cast<std::size_t>(station)]);
}

/// Emitters of 0.05, a crop that answers to 0.8 of what they lack and to noise of 0.03. In the
/// patch delivery is `low`; a patch of soil costs the crop as much, and holes in it show nothing.
inline DrawnZone outlined_zone(const SharpPatch& patch, double low, std::uint64_t seed,
                               SegmentGrid grid = small_grid()) {
  DrawnZone zone = bare_zone(std::move(grid));
  std::mt19937_64 stream(seed);
  std::normal_distribution<double> normal;
  for (int row = 0; row < zone.grid.rows(); ++row)
    for (int station = 0; station < zone.grid.stations(); ++station) {
      const double fails = is_in(zone.grid, patch, row, station) ? low : 1;
      const double r = patch.of_soil ? 1 : fails;
      if (row % 4 == 1 && station % 3 == 1)
        zone.holes.push_back({row, station, r * (1 + 0.05 * normal(stream)), 4e-4});
      CropDatum datum;
      datum.segments = {zone.grid.segment(row, station)};
      datum.weights = {1};
      datum.place = {zone.grid.across_m[static_cast<std::size_t>(row)],
                     zone.grid.stations_m[static_cast<std::size_t>(station)]};
      datum.value = 1 + 0.8 * (fails - 1) + 0.03 * normal(stream);
      zone.r.push_back(r);
      zone.crop.push_back(std::move(datum));
    }
  return zone;
}

}  // namespace evendrip::test
