// SPDX-License-Identifier: Apache-2.0
// What findings take for the water of a place: the condition where it was judged, else the surface.
#pragma once

#include <memory>

#include "evendrip/geo/raster.hpp"

namespace evendrip {

struct JudgedWater {
  std::unique_ptr<RasterReader> relative;       ///< delivery, or the surface's relative discharge
  std::unique_ptr<RasterReader> discharge_lph;  ///< that times the reference of the place
};

/// All of one grid. `delivery` may be null: nothing was judged. The reference of a cell is the
/// surface's discharge over its relative discharge; a cell without both keeps what the surface
/// says. Throws std::invalid_argument for rasters of different grids.
JudgedWater judged_water(const std::shared_ptr<const RasterReader>& delivery,
                         const std::shared_ptr<const RasterReader>& relative,
                         const std::shared_ptr<const RasterReader>& discharge_lph);

}  // namespace evendrip
