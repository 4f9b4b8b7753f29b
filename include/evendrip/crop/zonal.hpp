// SPDX-License-Identifier: Apache-2.0
// Statistics of a raster under shapes, with exact shares of the cells on their edges, in bounded
// memory: shapes are covered band of rows by band of rows, in each band only the columns that a
// shape reaches there, and the bands are merged.
// Merging of means and variances: Chan, Golub & LeVeque 1979, Stanford STAN-CS-79-773.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/coverage.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// Statistics under a shape of the raster's coordinates. `most_cells` of coverage are held at a
/// time. Weight 0 if the shape misses the grid or covers no value.
CoverageStatistics statistics_under(const RasterReader& reader, const MultiPolygon& shape,
                                    std::size_t most_cells = 4'000'000);

/// The same under each of many shapes, which may overlap, in one pass over the raster. Same result
/// for any number of threads; the reader is read by one at a time.
std::vector<CoverageStatistics> statistics_under(const RasterReader& reader,
                                                 std::span<const MultiPolygon> shapes,
                                                 const Work& work);

}  // namespace evendrip
