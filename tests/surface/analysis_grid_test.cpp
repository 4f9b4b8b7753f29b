// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/discharge_map.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

Zone zone_of(const MultiPolygon& area, double spacing_m) {
  Zone zone;
  zone.area = area;
  zone.lateral.spacing_m = spacing_m;
  return zone;
}

MultiPolygon rectangle(double x0, double y0, double x1, double y1) {
  return {{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, {}}};
}

TEST(AnalysisGrid, HasCellsOfTheNarrowestLateralSpacing) {
  Field field;
  field.zones = {zone_of(rectangle(0, 0, 300, 150), 2), zone_of(rectangle(300, 0, 600, 150), 1.5)};
  const Grid grid = analysis_grid(field);
  EXPECT_EQ(grid.cell_m, 1.5);
  EXPECT_EQ(grid.columns, 400);
  EXPECT_EQ(grid.rows, 100);
}

TEST(AnalysisGrid, GrowsCoarserByWholeMetresOnALargeField) {
  Field field;
  field.zones = {zone_of(rectangle(0, 0, 4000, 900), 0.76)};
  const Grid grid = analysis_grid(field);
  EXPECT_EQ(grid.cell_m, 3);
  EXPECT_LE(grid.columns, 1500);
}

TEST(AnalysisGrid, KeepsTheCellAsAsked) {
  Field field;
  field.zones = {zone_of(rectangle(0, 0, 1000, 900), 1)};
  field.analysis.cell_m = 0.5;
  EXPECT_EQ(analysis_grid(field).columns, 2000);
}

TEST(ZonesOfCells, AreThoseThatHoldTheCentre) {
  Field field;
  Polygon ring = rectangle(1, 1, 9.3, 9)[0];
  ring.holes.push_back({{4, 4}, {6, 4}, {6, 6}, {4, 6}});
  field.zones = {zone_of({ring}, 1), zone_of(rectangle(9.3, 1, 14, 9), 1)};
  const Grid grid{0, 10, 0.7, 21, 15};
  const Window window{2, 1, 10, 19};
  const std::vector<int> zones = zones_of_cells(field, grid, window);
  ASSERT_EQ(zones.size(), window.cells());
  for (int r = 0; r < window.rows; ++r)
    for (int c = 0; c < window.columns; ++c) {
      const Point p = grid.centre(window.row + r, window.column + c);
      const int expected = contains(field.zones[0].area, p)   ? 0
                           : contains(field.zones[1].area, p) ? 1
                                                              : -1;
      EXPECT_EQ(zones[static_cast<std::size_t>(r * window.columns + c)], expected);
    }
}

TEST(ZonesOfCells, GiveAnOverlapToTheFirstZone) {
  Field field;
  field.zones = {zone_of(rectangle(0, 0, 6, 6), 1), zone_of(rectangle(3, 0, 9, 6), 1)};
  const auto zones = zones_of_cells(field, {0, 6, 1, 9, 6}, {0, 0, 1, 9});
  EXPECT_EQ(zones, (std::vector<int>{0, 0, 0, 0, 0, 0, 1, 1, 1}));
}

}  // namespace
}  // namespace evendrip
