// SPDX-License-Identifier: Apache-2.0
#include "screened_ground.hpp"

#include <limits>

#include "evendrip/surface/site_map.hpp"

namespace evendrip {
namespace {

constexpr int longest_side = 4096;
constexpr int rows_at_once = 32;

}  // namespace

double ScreenedGround::at(Point p, int of_zone) const {
  constexpr double none = std::numeric_limits<double>::quiet_NaN();
  const Cell cell = cell_of(crop.grid, p);
  if (!crop.grid.contains_cell(cell.row, cell.column)) return none;
  const int there = zone[crop.grid.index(cell.row, cell.column)];
  if (there < 0 || (of_zone >= 0 && there != of_zone)) return none;
  return value_at(crop, p).value_or(none);
}

ScreenedGround screened_ground(const Field& field, const RasterReader& rest, double headland_m,
                               const Work& work) {
  ScreenedGround ground;
  ground.crop = overview(rest, longest_side);
  const Grid& grid = ground.crop.grid;
  ground.zone.assign(grid.cells(), -1);
  ground.lateral.assign(grid.cells(), -1);
  ground.station_m.assign(grid.cells(), 0);
  const SiteMap sites(field, grid);
  const std::vector<Window> blocks = row_blocks(grid, rows_at_once);
  for_each_chunk(
      without_progress(work), blocks.size(), 1, [&](std::size_t begin, std::size_t end, int) {
        for (std::size_t b = begin; b < end; ++b) {
          std::size_t i = grid.index(blocks[b].row, 0);
          for (const Site& site : sites.over(blocks[b])) {
            const std::size_t cell = i++;
            if (site.lateral < 0 || !ground.crop.has_value(cell)) continue;
            const Lateral& lateral = field.laterals[static_cast<std::size_t>(site.lateral)];
            if (site.station_m < headland_m || site.station_m > lateral.length_m - headland_m)
              continue;
            ground.zone[cell] = site.zone;
            ground.lateral[cell] = site.lateral;
            ground.station_m[cell] = static_cast<float>(site.station_m);
          }
        }
      });
  return ground;
}

}  // namespace evendrip
