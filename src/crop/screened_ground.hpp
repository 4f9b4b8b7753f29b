// SPDX-License-Identifier: Apache-2.0
// A relative crop raster in memory with what lies under each of its cells.
#pragma once

#include <cstddef>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

struct ScreenedGround {
  Raster crop;  ///< coarsened by whole factors where it is very large
  /// -1 where the cell does not count: no value, no lateral, or within the headland.
  std::vector<int> zone;
  std::vector<int> lateral;
  std::vector<float> station_m;

  /// Between the cells about a place; NaN where the cell there does not count, or not for the zone
  /// (-1: any).
  double at(Point p, int of_zone) const;
};
ScreenedGround screened_ground(const Field& field, const RasterReader& rest, double headland_m,
                               const Work& work);

}  // namespace evendrip
