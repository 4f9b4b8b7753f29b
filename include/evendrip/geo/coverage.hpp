// SPDX-License-Identifier: Apache-2.0
// Exact share of each cell that a polygon covers, and statistics weighted with it.
//
// Method: signed area accumulated edge by edge within each touched cell, then a prefix sum along
// rows; exact to rounding, linear in edges plus touched cells. Holes are subtracted.
// Variance merges partial sums pairwise: Chan, Golub & LeVeque 1979, Stanford STAN-CS-79-773.
#pragma once

#include <cstddef>
#include <vector>

#include "evendrip/geo/grid.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

struct Coverage {
  Window window;                 ///< the cells touched
  std::vector<double> fraction;  ///< window.cells(), row by row, 0 to 1
};

/// Shares for one shape; its parts must not overlap. Empty window if it misses the grid.
Coverage coverage_of(const Grid& grid, const MultiPolygon& shape);

/// The strip within half_width_m of a line, flat at its ends, as a shape (mitred joints); for
/// statistics by lateral strip.
MultiPolygon strip_along(const Line& line, double half_width_m);

/// Weighted statistics of the covered cells that have values.
struct CoverageStatistics {
  double weight_cells = 0;   ///< sum of fractions with a value
  double missing_cells = 0;  ///< sum of fractions without one
  double mean = 0;
  double sd = 0;  ///< sqrt of the weighted population variance
  double min = 0;
  double max = 0;
};
/// Empty statistics (weight 0) if no covered cell has a value. Reads by blocks of rows.
CoverageStatistics statistics_of(const RasterReader& reader, const Coverage& coverage);

}  // namespace evendrip
