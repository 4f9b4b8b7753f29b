// SPDX-License-Identifier: Apache-2.0
// Coarser levels of a raster of values and reasons.
#pragma once

#include "evendrip/base/work.hpp"
#include "gdal_session.hpp"

namespace evendrip {

/// Adds levels, each half of the one before, until both sides fit one tile. A coarse cell is the
/// mean of the values among its four cells (of float bands, NaN means none); the last band holds
/// reasons: 0 where any of the four has a value, else the first reason of the four. Row blocks, so
/// that memory does not grow with the raster. Progress runs from 0 to `until_frac`. GDAL's messages
/// tell of failure.
void add_overviews(GDALDataset& raster, int tile, const Work& work, double until_frac);

}  // namespace evendrip
