// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/grid.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include "evendrip/base/error.hpp"

namespace evendrip {
namespace {

constexpr double most_cells = 2e9;

/// Rounded down, kept well inside int.
int cell_number(double cells) {
  constexpr double limit = 1e9;
  return static_cast<int>(std::floor(std::clamp(cells, -limit, limit)));
}

/// Multiples of the cell, with a value that is one but for rounding taken as it.
double multiple_below(double x, double cell) {
  const double nearest = std::round(x / cell);
  return std::abs(x / cell - nearest) < 1e-7 ? nearest : std::floor(x / cell);
}
double multiple_above(double x, double cell) {
  return -multiple_below(-x, cell);
}

struct Run {
  int first = 0;
  int count = 0;
};

/// Cells from `from` to `to` (in cells), cut to 0..limit; an extent without width has one cell.
Run run_of(double from, double to, int limit) {
  const int first = cell_number(from);
  const int end = std::max(first + 1, -cell_number(-to));
  const int cut_first = std::clamp(first, 0, limit);
  return {cut_first, std::clamp(end, 0, limit) - cut_first};
}

[[noreturn]] void refuse(const std::string& found) {
  throw InputError(Doubt{"bad_grid",
                         Severity::problem,
                         {},
                         "no grid can be laid over the field",
                         found,
                         "an extent with size, a cell above 0 and at most 2e9 cells",
                         "Correct the cell size, or look for a point far from the field"});
}

}  // namespace

Extent Grid::extent() const {
  return {x_left, y_top - rows * cell_m, x_left + columns * cell_m, y_top};
}

Cell cell_of(const Grid& grid, Point p) {
  return {cell_number((grid.y_top - p.y) / grid.cell_m),
          cell_number((p.x - grid.x_left) / grid.cell_m)};
}

Window window_of(const Grid& grid, const Extent& extent) {
  if (extent.empty()) return {};
  const Run across = run_of((extent.x_min - grid.x_left) / grid.cell_m,
                            (extent.x_max - grid.x_left) / grid.cell_m, grid.columns);
  const Run down = run_of((grid.y_top - extent.y_max) / grid.cell_m,
                          (grid.y_top - extent.y_min) / grid.cell_m, grid.rows);
  const Window window{down.first, across.first, down.count, across.count};
  return window.empty() ? Window{} : window;
}

Grid sub_grid(const Grid& grid, const Window& window) {
  return {grid.x_left + window.column * grid.cell_m, grid.y_top - window.row * grid.cell_m,
          grid.cell_m, window.columns, window.rows};
}

Grid grid_over(const Extent& extent, double cell_m) {
  if (!(cell_m > 0) || !std::isfinite(cell_m)) refuse("cell " + std::to_string(cell_m) + " m");
  if (extent.empty() || !std::isfinite(extent.width()) || !std::isfinite(extent.height())) {
    refuse("an empty extent");
  }
  const double left = multiple_below(extent.x_min, cell_m);
  const double top = multiple_above(extent.y_max, cell_m);
  const double columns = std::max(1.0, multiple_above(extent.x_max, cell_m) - left);
  const double rows = std::max(1.0, top - multiple_below(extent.y_min, cell_m));
  if (columns * rows > most_cells) {
    refuse(std::to_string(columns) + " columns by " + std::to_string(rows) + " rows");
  }
  return {left * cell_m, top * cell_m, cell_m, static_cast<int>(columns), static_cast<int>(rows)};
}

std::vector<Window> row_blocks(const Grid& grid, int rows_per_block) {
  const int step = std::max(rows_per_block, 1);
  std::vector<Window> blocks;
  for (int row = 0; row < grid.rows; row += step) {
    blocks.push_back({row, 0, std::min(step, grid.rows - row), grid.columns});
  }
  return blocks;
}

}  // namespace evendrip
