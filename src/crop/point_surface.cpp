// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/point_surface.hpp"

#include <algorithm>
#include <cstddef>
#include <tuple>
#include <utility>
#include <vector>

#include "evendrip/geo/index.hpp"

namespace evendrip {
namespace {

constexpr int nearest_points = 8;

/// Mean of the points of one cell; cells are in the order of the grid.
struct CellMean {
  std::size_t cell = 0;
  double mean = 0;
};

std::vector<CellMean> cell_means(std::span<const Point> places, std::span<const double> values,
                                 const Grid& grid) {
  std::vector<std::pair<std::size_t, double>> held;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Cell cell = cell_of(grid, places[i]);
    if (grid.contains_cell(cell.row, cell.column)) {
      held.emplace_back(grid.index(cell.row, cell.column), values[i]);
    }
  }
  std::sort(held.begin(), held.end());  // by value too: the sum does not depend on the file's order
  std::vector<CellMean> means;
  for (std::size_t begin = 0; begin < held.size();) {
    std::size_t end = begin;
    double sum = 0;
    for (; end < held.size() && held[end].first == held[begin].first; ++end) {
      sum += held[end].second;
    }
    means.push_back({held[begin].first, sum / static_cast<double>(end - begin)});
    begin = end;
  }
  return means;
}

class PointSurface : public RasterReader {
 public:
  PointSurface(std::span<const Point> places, std::span<const double> values, const Grid& grid,
               double reach_m)
      : grid_(grid),
        reach_m_(reach_m),
        values_(values.begin(), values.end()),
        means_(cell_means(places, values, grid)),
        index_(places) {}

  const Grid& grid() const override { return grid_; }

  Raster read(const Window& window) const override {
    Raster part(sub_grid(grid_, window), Reason::no_source);
    std::vector<NearPoint> near;
    std::size_t i = 0;
    for (int r = 0; r < window.rows; ++r) {
      const std::size_t first = grid_.index(window.row + r, window.column);
      auto mean =
          std::lower_bound(means_.begin(), means_.end(), first,
                           [](const CellMean& held, std::size_t cell) { return held.cell < cell; });
      for (int c = 0; c < window.columns; ++c, ++i) {
        if (mean != means_.end() && mean->cell == first + static_cast<std::size_t>(c)) {
          part.set(i, mean->mean);
          ++mean;
        } else {
          fill(part, i, grid_.centre(window.row + r, window.column + c), near);
        }
      }
    }
    return part;
  }

 private:
  void fill(Raster& part, std::size_t cell, Point centre, std::vector<NearPoint>& near) const {
    index_.nearest(centre, nearest_points, reach_m_, near);
    double sum = 0;
    double weights = 0;
    for (const NearPoint& point : near) {
      const double weight = 1 / point.distance2_m2;  // no point lies at the centre of this cell
      sum += weight * values_[static_cast<std::size_t>(point.point)];
      weights += weight;
    }
    if (weights > 0) part.set(cell, sum / weights);
  }

  Grid grid_;
  double reach_m_;
  std::vector<double> values_;
  std::vector<CellMean> means_;
  PointIndex index_;
};

}  // namespace

std::unique_ptr<RasterReader> point_surface(std::span<const Point> places,
                                            std::span<const double> values, const Grid& grid,
                                            double reach_m) {
  return std::make_unique<PointSurface>(places, values, grid, reach_m);
}

}  // namespace evendrip
