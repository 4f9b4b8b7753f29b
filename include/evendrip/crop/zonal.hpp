// SPDX-License-Identifier: Apache-2.0
// Statistics of a raster under a shape, with exact shares of the cells on its edge, in bounded
// memory: the shape is covered block of rows by block of rows and the blocks are merged.
// Merging of means and variances: Chan, Golub & LeVeque 1979, Stanford STAN-CS-79-773.
#pragma once

#include <cstddef>

#include "evendrip/geo/coverage.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// Statistics of two sets of cells that do not overlap, as one.
CoverageStatistics merged(const CoverageStatistics& a, const CoverageStatistics& b);

/// Statistics under a shape of the raster's coordinates. `most_cells` of coverage are held at a
/// time. Weight 0 if the shape misses the grid or covers no value.
CoverageStatistics statistics_under(const RasterReader& reader, const MultiPolygon& shape,
                                    std::size_t most_cells = 4'000'000);

}  // namespace evendrip
