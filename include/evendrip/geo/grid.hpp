// SPDX-License-Identifier: Apache-2.0
// The one place for row and column arithmetic: a north-up grid of square cells, row 0 in the north.
#pragma once

#include <cstddef>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

struct Grid {
  double x_left = 0;  ///< west edge, m
  double y_top = 0;   ///< north edge, m
  double cell_m = 1;  ///< side of a cell, m
  int columns = 0;
  int rows = 0;

  bool operator==(const Grid&) const = default;
  std::size_t cells() const {
    return static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows);
  }
  Point centre(int row, int column) const {
    return {x_left + (column + 0.5) * cell_m, y_top - (row + 0.5) * cell_m};
  }
  std::size_t index(int row, int column) const {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
           static_cast<std::size_t>(column);
  }
  Extent extent() const;
  bool contains_cell(int row, int column) const {
    return row >= 0 && row < rows && column >= 0 && column < columns;
  }
};

/// Row and column of the cell that holds a point; may lie outside the grid. A point on an edge
/// belongs to the cell to its east or south.
struct Cell {
  int row = 0;
  int column = 0;
  bool operator==(const Cell&) const = default;
};
Cell cell_of(const Grid& grid, Point p);

/// A rectangle of cells.
struct Window {
  int row = 0;
  int column = 0;
  int rows = 0;
  int columns = 0;
  bool operator==(const Window&) const = default;
  bool empty() const { return rows <= 0 || columns <= 0; }
  std::size_t cells() const {
    return empty() ? 0 : static_cast<std::size_t>(rows) * static_cast<std::size_t>(columns);
  }
};

/// Cells that an extent touches, cut to the grid; empty if none.
Window window_of(const Grid& grid, const Extent& extent);
/// The grid of one window alone.
Grid sub_grid(const Grid& grid, const Window& window);
/// Smallest grid that covers the extent, its edges at whole multiples of the cell.
/// Throws InputError for an empty extent, a cell not above 0, or more than 2e9 cells.
Grid grid_over(const Extent& extent, double cell_m);
/// Windows of `rows_per_block` full rows, north to south, covering the grid.
std::vector<Window> row_blocks(const Grid& grid, int rows_per_block);

}  // namespace evendrip
