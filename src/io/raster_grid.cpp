// SPDX-License-Identifier: Apache-2.0
#include "raster_grid.hpp"

namespace evendrip {

std::optional<PixelMap> PixelMap::of(GDALDataset& raster) {
  PixelMap map;
  if (raster.GetGeoTransform(map.forward_.data()) != CE_None) return std::nullopt;
  if (GDALInvGeoTransform(map.forward_.data(), map.inverse_.data()) == 0) return std::nullopt;
  return map;
}

Extent extent_of(const PixelMap& map, int columns, int rows) {
  Extent extent;
  for (const double x : {0.0, static_cast<double>(columns)})
    for (const double y : {0.0, static_cast<double>(rows)}) extent.include(map.to_ground({x, y}));
  return extent;
}

PixelSize pixel_size(const PixelMap& map, int columns, int rows, const Crs& crs) {
  const Point centre{columns / 2.0, rows / 2.0};
  Point here = map.to_ground(centre);
  Point east = map.to_ground({centre.x + 1, centre.y});
  Point south = map.to_ground({centre.x, centre.y + 1});
  if (!crs.known()) return {distance_m(here, east), distance_m(here, south)};
  const Transform to_lon_lat(crs, wgs84());
  here = to_lon_lat(here);
  east = to_lon_lat(east);
  south = to_lon_lat(south);
  return {geodesic_distance_m(here, east), geodesic_distance_m(here, south)};
}

}  // namespace evendrip
