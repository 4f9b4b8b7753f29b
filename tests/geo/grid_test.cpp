// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/grid.hpp"

#include <gtest/gtest.h>

#include "evendrip/base/error.hpp"

namespace evendrip {
namespace {

const Grid grid{100, 200, 10, 8, 5};

TEST(Grid, FindsTheCellOfEveryCentre) {
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      EXPECT_EQ(cell_of(grid, grid.centre(row, column)), (Cell{row, column}));
    }
  }
  EXPECT_EQ(grid.extent().x_max, 180);
  EXPECT_EQ(grid.extent().y_min, 150);
}

TEST(Grid, GivesAPointOnAnEdgeToTheCellInTheEastOrSouth) {
  EXPECT_EQ(cell_of(grid, {110, 190}), (Cell{1, 1}));
  EXPECT_EQ(cell_of(grid, {99.9, 200.1}), (Cell{-1, -1}));
}

TEST(WindowOf, HoldsTheCellsTouchedCutToTheGrid) {
  EXPECT_EQ(window_of(grid, {111, 171, 129, 189}), (Window{1, 1, 2, 2}));
  EXPECT_EQ(window_of(grid, {110, 170, 130, 190}), (Window{1, 1, 2, 2}));
  EXPECT_EQ(window_of(grid, {0, 0, 1000, 1000}), (Window{0, 0, 5, 8}));
  EXPECT_EQ(window_of(grid, {115, 175, 115, 175}), (Window{2, 1, 1, 1}));
  EXPECT_TRUE(window_of(grid, {181, 150, 190, 200}).empty());
  EXPECT_TRUE(window_of(grid, Extent{}).empty());
}

TEST(SubGrid, HasTheSameCellCentres) {
  const Grid part = sub_grid(grid, {2, 3, 2, 4});
  EXPECT_EQ(part.centre(1, 2), grid.centre(3, 5));
  EXPECT_EQ(part.cells(), 8U);
}

TEST(GridOver, CoversTheExtentWithEdgesAtWholeMultiples) {
  const Grid over = grid_over({1003, 2004, 1051, 2049.5}, 5);
  EXPECT_EQ(over, (Grid{1000, 2050, 5, 11, 10}));
  EXPECT_EQ(grid_over({-3, -3, -1, -1}, 2), (Grid{-4, 0, 2, 2, 2}));
}

TEST(GridOver, AddsNoCellForRounding) {
  EXPECT_EQ(grid_over({0, 0, 3 * 0.1, 0.7}, 0.1).columns, 3);
  EXPECT_EQ(grid_over({5, 5, 5, 5}, 1).cells(), 1U);
}

TEST(GridOver, RefusesWhatCannotBeAGrid) {
  EXPECT_THROW(grid_over(Extent{}, 1), InputError);
  EXPECT_THROW(grid_over({0, 0, 1, 1}, 0), InputError);
  EXPECT_THROW(grid_over({0, 0, 1, 1}, -1), InputError);
  EXPECT_THROW(grid_over({0, 0, 1e6, 1e6}, 1), InputError);
}

TEST(RowBlocks, CoverEveryRowOnceFromTheNorth) {
  const std::vector<Window> blocks = row_blocks(grid, 2);
  ASSERT_EQ(blocks.size(), 3U);
  EXPECT_EQ(blocks[0], (Window{0, 0, 2, 8}));
  EXPECT_EQ(blocks[2], (Window{4, 0, 1, 8}));
}

}  // namespace
}  // namespace evendrip
