// SPDX-License-Identifier: Apache-2.0
// An invented field wide enough for machines: zones of 60 x 120 m side by side, laterals 1.5 m
// apart, and crop indices with planted marks.
#pragma once

#include "drawn_places.hpp"
#include "invented_field.hpp"

#include <cmath>
#include <functional>
#include <numbers>
#include <utility>

#include "evendrip/geo/line.hpp"

namespace evendrip::invented {

constexpr double zone_wide_m = 60;
constexpr double zone_long_m = 120;

/// East of `west` and north of `south`, before the field is turned.
inline Point turned_place(double east_m, double north_m, double turn_deg) {
  const double angle = turn_deg * std::numbers::pi / 180;
  return {west + east_m * std::cos(angle) + north_m * std::sin(angle),
          south - east_m * std::sin(angle) + north_m * std::cos(angle)};
}

inline Point untouched_place(Point p, double turn_deg) {
  const double angle = turn_deg * std::numbers::pi / 180;
  const double e = p.x - west;
  const double n = p.y - south;
  return {e * std::cos(angle) - n * std::sin(angle), e * std::sin(angle) + n * std::cos(angle)};
}

/// Laterals run at bearing `turn_deg`.
inline Field wide_field(int zones, double turn_deg = 0) {
  Field field = small_field();
  field.zones.resize(1);
  field.laterals.clear();
  const Zone model = field.zones.front();
  field.zones.clear();
  for (int z = 0; z < zones; ++z) {
    Zone zone = model;
    zone.id = "Z" + std::to_string(z + 1);
    zone.lateral.spacing_m = 1.5;
    const double left = zone_wide_m * z;
    Ring ring;
    for (const auto& [east, north] :
         {std::pair{left, 0.0}, std::pair{left + zone_wide_m, 0.0},
          std::pair{left + zone_wide_m, zone_long_m}, std::pair{left, zone_long_m}})
      ring.push_back(turned_place(east, north, turn_deg));
    zone.area = {Polygon{ring, {}}};
    field.zones.push_back(zone);
    for (int i = 0; i < 40; ++i) {
      Lateral lateral;
      lateral.id = zone.id + "-" + std::to_string(i + 1);
      lateral.zone = z;
      const double east = left + 0.75 + 1.5 * i;
      lateral.line = {turned_place(east, 0, turn_deg), turned_place(east, zone_long_m, turn_deg)};
      lateral.length_m = zone_long_m;
      lateral.emitters = 240;
      field.laterals.push_back(lateral);
    }
  }
  return field;
}

/// An index over a wide field: 1, noise of the standard deviation given in each cell, and what is
/// added by place east and north before the field is turned.
inline std::unique_ptr<RasterReader> wide_crop(
    const Field& field, double turn_deg, double noise_sd, std::uint64_t seed,
    const std::function<double(double east_m, double north_m)>& added) {
  Extent extent;
  for (const Zone& zone : field.zones) extent.include(extent_of(zone.area));
  Raster raster(grid_over(extent, 1));
  std::mt19937_64 stream = item_stream(seed, {3});
  for (int row = 0; row < raster.grid.rows; ++row)
    for (int column = 0; column < raster.grid.columns; ++column) {
      const Point p = untouched_place(raster.grid.centre(row, column), turn_deg);
      const double noise = noise_sd * std::sqrt(12.0) * (drawn::share(stream) - 0.5);
      raster.set(raster.grid.index(row, column), 1 + noise + added(p.x, p.y));
    }
  return reader_of(std::move(raster));
}

/// Soil: waves of 20 to 80 m in random directions.
inline std::function<double(double, double)> drawn_soil(double sd, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {4});
  struct Wave {
    double east, north, phase;
  };
  std::vector<Wave> waves;
  for (int k = 0; k < 40; ++k) {
    const double length_m = 20 + 60 * drawn::share(stream);
    const double way = 2 * std::numbers::pi * drawn::share(stream);
    const double per_m = 2 * std::numbers::pi / length_m;
    const double phase = 2 * std::numbers::pi * drawn::share(stream);
    waves.push_back({per_m * std::cos(way), per_m * std::sin(way), phase});
  }
  return [waves, sd](double east_m, double north_m) {
    double sum = 0;
    for (const Wave& w : waves) sum += std::cos(w.east * east_m + w.north * north_m + w.phase);
    return sd * sum * std::sqrt(2.0 / 40);
  };
}

}  // namespace evendrip::invented
