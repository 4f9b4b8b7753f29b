// SPDX-License-Identifier: Apache-2.0
// From cells to shapes: patches of equal class as polygons (GDALPolygonize, by scan lines, so
// memory does not grow with the raster), and isolines (GDALContourGenerateEx).
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// A connected patch (4-connected) of cells of one class.
struct Patch {
  int patch_class = 0;  ///< never 0: class 0 is left out
  Polygon outline;
};
/// Classes come from `class_of_rows(window) -> window.cells() bytes`, called for blocks of full
/// rows north to south, in two sweeps; it must answer the same both times. What it throws passes
/// through. Throws Interrupted when work.stop is requested. Outlines are valid, outer rings and
/// holes.
std::vector<Patch> polygonise(
    const Grid& grid, const std::function<std::vector<std::uint8_t>(const Window&)>& class_of_rows,
    const Work& work);

/// Patches of one class that touch at corners, as one.
struct JoinedPatch {
  int patch_class = 0;
  MultiPolygon outline;
};
/// What runs askew through the cells, one cell wide, touches at corners alone. In the order of the
/// first patch of each.
std::vector<JoinedPatch> joined_at_corners(std::vector<Patch> patches);

struct Isoline {
  double level = 0;
  Line line;
};
/// Isolines of a raster in memory at the levels given; cells without a value interrupt them. Values
/// belong to cell centres. A level that is met exactly is drawn a hair beside it.
std::vector<Isoline> isolines(const Raster& raster, const std::vector<double>& levels);

}  // namespace evendrip
