// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/zonal.hpp"

#include <algorithm>
#include <cmath>

namespace evendrip {
namespace {

Coverage shifted(Coverage coverage, const Window& block) {
  coverage.window.row += block.row;
  coverage.window.column += block.column;
  return coverage;
}

}  // namespace

CoverageStatistics merged(const CoverageStatistics& a, const CoverageStatistics& b) {
  if (!(a.weight_cells > 0) || !(b.weight_cells > 0)) {
    CoverageStatistics one = a.weight_cells > 0 ? a : b;
    one.missing_cells = a.missing_cells + b.missing_cells;
    return one;
  }
  CoverageStatistics both;
  both.weight_cells = a.weight_cells + b.weight_cells;
  both.missing_cells = a.missing_cells + b.missing_cells;
  const double share = b.weight_cells / both.weight_cells;
  const double step = b.mean - a.mean;
  both.mean = a.mean + share * step;
  const double variance =
      (1 - share) * a.sd * a.sd + share * b.sd * b.sd + share * (1 - share) * step * step;
  both.sd = std::sqrt(variance);
  both.min = std::min(a.min, b.min);
  both.max = std::max(a.max, b.max);
  return both;
}

CoverageStatistics statistics_under(const RasterReader& reader, const MultiPolygon& shape,
                                    std::size_t most_cells) {
  CoverageStatistics total;
  if (shape.empty()) return total;
  const Window window = window_of(reader.grid(), extent_of(shape));
  if (window.empty()) return total;
  const auto columns = static_cast<std::size_t>(window.columns);
  const auto rows = static_cast<int>(
      std::clamp(most_cells / columns, std::size_t{1}, static_cast<std::size_t>(window.rows)));
  for (int row = 0; row < window.rows; row += rows) {
    const Window block{window.row + row, window.column, std::min(rows, window.rows - row),
                       window.columns};
    const Coverage coverage = coverage_of(sub_grid(reader.grid(), block), shape);
    if (coverage.window.empty()) continue;
    total = merged(total, statistics_of(reader, shifted(coverage, block)));
  }
  return total;
}

}  // namespace evendrip
