// SPDX-License-Identifier: Apache-2.0
// How a GDAL raster lies on the ground.
#pragma once

#include <array>
#include <optional>

#include "evendrip/crs/crs.hpp"
#include "evendrip/geo/shapes.hpp"
#include "gdal_session.hpp"

namespace evendrip {

/// Affine map between pixel/line (0 at the corner of the first pixel) and coordinates.
class PixelMap {
 public:
  /// Empty if the raster has no georeference or one that cannot be inverted.
  static std::optional<PixelMap> of(GDALDataset& raster);
  Point to_ground(Point pixel) const { return apply(forward_, pixel); }
  Point to_pixel(Point ground) const { return apply(inverse_, ground); }

 private:
  static Point apply(const std::array<double, 6>& t, Point p) {
    return {t[0] + p.x * t[1] + p.y * t[2], t[3] + p.x * t[4] + p.y * t[5]};
  }
  std::array<double, 6> forward_{};
  std::array<double, 6> inverse_{};
};

/// Coordinates of the four corners.
Extent extent_of(const PixelMap& map, int columns, int rows);

/// Sides of the pixel at the centre, m on the ground; in the raster's own units if it has no CRS.
struct PixelSize {
  double x_m = 0;
  double y_m = 0;
};
PixelSize pixel_size(const PixelMap& map, int columns, int rows, const Crs& crs);

}  // namespace evendrip
