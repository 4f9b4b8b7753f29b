// SPDX-License-Identifier: Apache-2.0
#include "low_areas.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>

#include "evendrip/crop/moran.hpp"
#include "evendrip/crs/outlines.hpp"

namespace evendrip {
namespace {

constexpr double least_seen = 0.5;         ///< of a block's cells
constexpr double neighbours_within = 1.5;  ///< sides: the eight about a block
constexpr std::size_t fewest_blocks = 20;
constexpr std::size_t fewest_low = 2;

struct Blocks {
  Grid grid;
  std::vector<int> zone;  ///< that most of its cells belong to, -1 if too few count
  std::vector<double> mean;
  std::vector<std::uint8_t> low;
  std::vector<double> p;  ///< adjusted
};

/// Calls body(cell of the ground) for each cell of a block that counts.
template <typename Body>
void for_cells(const ScreenedGround& ground, std::span<const std::uint8_t> explained, int factor,
               int row, int column, const Body& body) {
  const Grid& grid = ground.crop.grid;
  for (int r = row * factor; r < std::min((row + 1) * factor, grid.rows); ++r) {
    for (int c = column * factor; c < std::min((column + 1) * factor, grid.columns); ++c) {
      const std::size_t i = grid.index(r, c);
      if (ground.zone[i] >= 0 && explained[i] == 0) body(i);
    }
  }
}

void fill_block(const ScreenedGround& ground, std::span<const std::uint8_t> explained, int factor,
                int row, int column, Blocks& blocks) {
  std::map<int, int> counts;
  for_cells(ground, explained, factor, row, column,
            [&](std::size_t i) { ++counts[ground.zone[i]]; });
  const std::size_t block = blocks.grid.index(row, column);
  for (const auto& [zone, count] : counts) {
    if (count < least_seen * factor * factor) continue;
    double sum = 0;
    for_cells(ground, explained, factor, row, column, [&, own = zone](std::size_t i) {
      if (ground.zone[i] == own) sum += double{ground.crop.values[i]};
    });
    blocks.zone[block] = zone;
    blocks.mean[block] = sum / count;
  }
}

Blocks blocks_of(const ScreenedGround& ground, std::span<const std::uint8_t> explained,
                 int factor) {
  const Grid& fine = ground.crop.grid;
  Blocks blocks;
  blocks.grid = {fine.x_left, fine.y_top, fine.cell_m * factor,
                 (fine.columns + factor - 1) / factor, (fine.rows + factor - 1) / factor};
  blocks.zone.assign(blocks.grid.cells(), -1);
  blocks.mean.assign(blocks.grid.cells(), 0);
  blocks.low.assign(blocks.grid.cells(), 0);
  blocks.p.assign(blocks.grid.cells(), 1);
  for (int row = 0; row < blocks.grid.rows; ++row)
    for (int column = 0; column < blocks.grid.columns; ++column)
      fill_block(ground, explained, factor, row, column, blocks);
  return blocks;
}

/// Low, and low about it.
void mark_low(Blocks& blocks, double false_discovery_rate, const Work& work) {
  std::vector<Point> places;
  std::vector<double> values;
  std::vector<std::size_t> number;
  for (std::size_t i = 0; i < blocks.zone.size(); ++i) {
    if (blocks.zone[i] < 0) continue;
    const int row = static_cast<int>(i / static_cast<std::size_t>(blocks.grid.columns));
    const int column = static_cast<int>(i % static_cast<std::size_t>(blocks.grid.columns));
    places.push_back(blocks.grid.centre(row, column));
    values.push_back(blocks.mean[i]);
    number.push_back(i);
  }
  if (values.size() < fewest_blocks) return;
  double mean = 0;
  for (const double value : values) mean += value / static_cast<double>(values.size());
  const LocalMoran local =
      local_moran(places, values, neighbours_within * blocks.grid.cell_m, without_progress(work));
  const std::vector<double> adjusted = false_discovery_adjusted(local.p);
  for (std::size_t k = 0; k < values.size(); ++k) {
    if (!(adjusted[k] <= false_discovery_rate) || !(local.value[k] > 0) || !(values[k] < mean))
      continue;
    blocks.low[number[k]] = 1;
    blocks.p[number[k]] = adjusted[k];
  }
}

/// Blocks of one zone that hang together by their sides; their flags are taken off.
std::vector<Cell> take_patch(Blocks& blocks, Cell first) {
  std::vector<Cell> patch{first};
  const int zone = blocks.zone[blocks.grid.index(first.row, first.column)];
  blocks.low[blocks.grid.index(first.row, first.column)] = 0;
  for (std::size_t k = 0; k < patch.size(); ++k) {
    const Cell at = patch[k];
    for (const Cell next : {Cell{at.row - 1, at.column}, Cell{at.row + 1, at.column},
                            Cell{at.row, at.column - 1}, Cell{at.row, at.column + 1}}) {
      if (!blocks.grid.contains_cell(next.row, next.column)) continue;
      const std::size_t i = blocks.grid.index(next.row, next.column);
      if (blocks.low[i] == 0 || blocks.zone[i] != zone) continue;
      blocks.low[i] = 0;
      patch.push_back(next);
    }
  }
  return patch;
}

MultiPolygon outline_of(const Grid& grid, const std::vector<Cell>& patch, const Work& work) {
  Window window{patch[0].row, patch[0].column, 1, 1};
  int last_row = window.row;
  int last_column = window.column;
  for (const Cell cell : patch) {
    window.row = std::min(window.row, cell.row);
    window.column = std::min(window.column, cell.column);
    last_row = std::max(last_row, cell.row);
    last_column = std::max(last_column, cell.column);
  }
  window.rows = last_row - window.row + 1;
  window.columns = last_column - window.column + 1;
  const Grid part = sub_grid(grid, window);
  std::vector<std::uint8_t> inside(part.cells(), 0);
  for (const Cell cell : patch)
    inside[part.index(cell.row - window.row, cell.column - window.column)] = 1;
  MultiPolygon out;
  for (Patch& found : polygonise(
           part,
           [&](const Window& rows) {
             const auto from = static_cast<std::ptrdiff_t>(part.index(rows.row, 0));
             return std::vector<std::uint8_t>(
                 inside.begin() + from,
                 inside.begin() + from + static_cast<std::ptrdiff_t>(rows.cells()));
           },
           without_progress(work)))
    out.push_back(std::move(found.outline));
  return out;
}

}  // namespace

std::vector<LowArea> low_areas(const ScreenedGround& ground, double block_m,
                               std::span<const std::uint8_t> explained, double false_discovery_rate,
                               const Work& work) {
  const int factor = std::max(1, static_cast<int>(std::lround(block_m / ground.crop.grid.cell_m)));
  Blocks blocks = blocks_of(ground, explained, factor);
  mark_low(blocks, false_discovery_rate, work);
  std::vector<LowArea> areas;
  for (int row = 0; row < blocks.grid.rows; ++row) {
    for (int column = 0; column < blocks.grid.columns; ++column) {
      const std::size_t first = blocks.grid.index(row, column);
      if (blocks.low[first] == 0) continue;
      LowArea area;
      area.zone = blocks.zone[first];
      area.side_m = blocks.grid.cell_m;
      const std::vector<Cell> patch = take_patch(blocks, {row, column});
      if (patch.size() < fewest_low) continue;
      double sum = 0;
      for (const Cell cell : patch) {
        area.p = std::min(area.p, blocks.p[blocks.grid.index(cell.row, cell.column)]);
        for_cells(ground, explained, factor, cell.row, cell.column, [&](std::size_t i) {
          if (ground.zone[i] != area.zone) return;
          area.cells.push_back(i);
          sum += double{ground.crop.values[i]};
        });
      }
      area.level = sum / static_cast<double>(area.cells.size());
      area.area = outline_of(blocks.grid, patch, work);
      areas.push_back(std::move(area));
    }
  }
  return areas;
}

}  // namespace evendrip
