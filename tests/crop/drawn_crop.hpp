// SPDX-License-Identifier: Apache-2.0
// Relative crop of an invented field: soil, noise of the sensor and faults of the water.
#pragma once

#include "invented_field.hpp"

#include <algorithm>
#include <cstdint>
#include <random>
#include <vector>

#include "evendrip/base/random.hpp"
#include "evendrip/surface/random_field.hpp"
#include "evendrip/surface/site_map.hpp"

namespace evendrip::invented {

/// Two zones side by side, laterals that run north, `spacing_m` apart.
inline Field wide_field(double spacing_m, int laterals_in_zone, double length_m, int zones = 2) {
  Field field;
  field.name = "Plover Bench";
  field.crs = parse_crs("EPSG:32614");
  field.stated_crs = field.crs;
  field.scale_factor = 1;
  const double width_m = spacing_m * laterals_in_zone;
  for (int z = 0; z < zones; ++z) {
    Zone zone;
    zone.id = std::string(1, static_cast<char>('A' + z));
    zone.area = rectangle(west + width_m * z, south, width_m, length_m);
    zone.lateral.spacing_m = spacing_m;
    field.zones.push_back(zone);
    for (int i = 0; i < laterals_in_zone; ++i) {
      Lateral lateral;
      lateral.id = zone.id + std::to_string(i + 1);
      lateral.zone = z;
      const double x = west + width_m * z + spacing_m * (i + 0.5);
      lateral.line = {{x, south}, {x, south + length_m}};
      lateral.length_m = length_m;
      field.laterals.push_back(lateral);
    }
  }
  return field;
}

/// A part of the field that lacks water.
struct Lack {
  int first_lateral = 0;
  int last_lateral = 0;
  double from_m = 0;
  double to_m = 1e9;
  double deficit = 0.2;
};

struct DrawnCrop {
  double pixel_m = 1;
  double soil_sd = 0.05;
  double soil_range_m = 20;  ///< of the Gaussian model exp(-(h/a)^2)
  double noise_sd = 0.06;    ///< of a square metre; a pixel averages over what it sees
  double blur = 1;           ///< side of what a pixel sees over its own
};

/// Means of what pixels see of soil and lacks, with noise.
inline Raster drawn_crop(const Field& field, const DrawnCrop& how, const std::vector<Lack>& lacks,
                         std::uint64_t seed) {
  const Extent extent = field.extent();
  const Grid grid = grid_over(extent.grown(-1e-6), how.pixel_m);
  CorrelationFactor smooth;
  smooth.shape = VariogramShape::gaussian;
  smooth.range_m = how.soil_range_m;
  CovarianceModel model;
  model.terms.push_back({"soil", how.soil_sd * how.soil_sd, {smooth}});
  const RandomField soil(model, 300, seed, 1);
  std::mt19937_64 stream = item_stream(seed, {2});
  std::normal_distribution<double> noise(0, how.noise_sd / how.pixel_m);
  constexpr int side = 4;
  Raster raster(grid, Reason::outside_zones);
  const double spacing_m = field.zones.front().lateral.spacing_m;
  for (int row = 0; row < grid.rows; ++row) {
    std::vector<Site> sites(static_cast<std::size_t>(grid.columns));
    for (int column = 0; column < grid.columns; ++column)
      sites[static_cast<std::size_t>(column)].place = grid.centre(row, column);
    const std::vector<double> ground = soil.at(sites);
    for (int column = 0; column < grid.columns; ++column) {
      const Point centre = grid.centre(row, column);
      double water = 0;
      for (int k = 0; k < side * side; ++k) {
        const double seen_m = how.blur * how.pixel_m;
        const double x = centre.x - west + ((k % side + 0.5) / side - 0.5) * seen_m;
        const double y = centre.y - south + ((k / side + 0.5) / side - 0.5) * seen_m;
        const int lateral = static_cast<int>(std::floor(x / spacing_m));
        double here = 1;
        for (const Lack& lack : lacks)
          if (lateral >= lack.first_lateral && lateral <= lack.last_lateral && y >= lack.from_m &&
              y <= lack.to_m)
            here = std::min(here, 1 - lack.deficit);
        water += here / (side * side);
      }
      raster.set(grid.index(row, column),
                 water * (1 + ground[static_cast<std::size_t>(column)]) + noise(stream));
    }
  }
  return raster;
}

}  // namespace evendrip::invented
