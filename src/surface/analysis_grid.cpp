// SPDX-License-Identifier: Apache-2.0
#include "zone_cells.hpp"

#include "evendrip/surface/discharge_map.hpp"

#include <algorithm>
#include <cmath>

#include "evendrip/geo/coverage.hpp"

namespace evendrip {
namespace {

constexpr double most_cells = 1500;  ///< along a side
constexpr double whole = 1 - 1e-9;   ///< share of a cell that is all of it but for rounding

double narrowest_spacing_m(const Field& field) {
  double narrowest = 0;
  for (const Zone& zone : field.zones) {
    const double spacing = zone.lateral.spacing_m;
    if (spacing > 0 && (narrowest <= 0 || spacing < narrowest)) narrowest = spacing;
  }
  return narrowest > 0 ? narrowest : 1;
}

/// Cells of the window, not yet taken, whose centre the shape holds.
void take_cells(const MultiPolygon& shape, int zone, const Grid& part, std::vector<int>& zones) {
  const Coverage coverage = coverage_of(part, shape);
  const Window& touched = coverage.window;
  std::size_t k = 0;
  for (int r = 0; r < touched.rows; ++r) {
    for (int c = 0; c < touched.columns; ++c, ++k) {
      const double fraction = coverage.fraction[k];
      if (fraction <= 0) continue;
      const int row = touched.row + r;
      const int column = touched.column + c;
      int& taken = zones[part.index(row, column)];
      if (taken >= 0) continue;
      if (fraction >= whole || contains(shape, part.centre(row, column))) taken = zone;
    }
  }
}

}  // namespace

std::vector<int> zones_of_cells(std::span<const MultiPolygon> areas, const Grid& grid,
                                const Window& window) {
  std::vector<int> zones(window.cells(), -1);
  if (window.empty()) return zones;
  const Grid part = sub_grid(grid, window);
  for (std::size_t i = 0; i < areas.size(); ++i) {
    if (extent_of(areas[i]).intersects(part.extent()))
      take_cells(areas[i], static_cast<int>(i), part, zones);
  }
  return zones;
}

std::vector<int> zones_of_cells(const Field& field, const Grid& grid, const Window& window) {
  return zones_of_cells(areas_of(field), grid, window);
}

std::vector<MultiPolygon> areas_of(const Field& field) {
  std::vector<MultiPolygon> areas;
  areas.reserve(field.zones.size());
  for (const Zone& zone : field.zones) areas.push_back(zone.area);
  return areas;
}

Grid analysis_grid(const Field& field) {
  const Extent extent = field.extent();
  if (field.analysis.cell_m > 0) return grid_over(extent, field.analysis.cell_m);
  double cell_m = narrowest_spacing_m(field);
  const auto too_many = [&] {
    const Grid grid = grid_over(extent, cell_m);
    return grid.columns > most_cells || grid.rows > most_cells;
  };
  // A first guess from the extent keeps grid_over within its own limit.
  const double longest = std::max(extent.width(), extent.height());
  if (longest / cell_m > most_cells) cell_m = std::max(cell_m, std::floor(longest / most_cells));
  while (too_many()) cell_m = std::floor(cell_m) + 1;
  return grid_over(extent, cell_m);
}

}  // namespace evendrip
