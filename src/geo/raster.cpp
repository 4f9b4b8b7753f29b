// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/raster.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace evendrip {
namespace {

class MemoryReader : public RasterReader {
 public:
  explicit MemoryReader(Raster raster) : raster_(std::move(raster)) {}
  const Grid& grid() const override { return raster_.grid; }

  Raster read(const Window& window) const override {
    Raster part(sub_grid(raster_.grid, window), Reason::no_source);
    for (int r = 0; r < window.rows; ++r) {
      for (int c = 0; c < window.columns; ++c) {
        if (!raster_.grid.contains_cell(window.row + r, window.column + c)) continue;
        const std::size_t from = raster_.grid.index(window.row + r, window.column + c);
        const std::size_t to = part.grid.index(r, c);
        part.values[to] = raster_.values[from];
        part.reasons[to] = raster_.reasons[from];
      }
    }
    return part;
  }

 private:
  Raster raster_;
};

/// Sums of one row of coarse cells.
struct CoarseRow {
  explicit CoarseRow(int columns)
      : sum(static_cast<std::size_t>(columns)),
        count(static_cast<std::size_t>(columns)),
        uncertain(static_cast<std::size_t>(columns)),
        reason(static_cast<std::size_t>(columns), std::numeric_limits<std::uint8_t>::max()) {}
  std::vector<double> sum;
  std::vector<int> count;
  std::vector<int> uncertain;        ///< of those counted
  std::vector<std::uint8_t> reason;  ///< lowest code met
};

CoarseRow sums_of(const Raster& part, int factor, int coarse_columns) {
  CoarseRow row(coarse_columns);
  for (int r = 0; r < part.grid.rows; ++r) {
    for (int c = 0; c < part.grid.columns; ++c) {
      const std::size_t i = part.grid.index(r, c);
      const auto coarse = static_cast<std::size_t>(c / factor);
      if (part.has_value(i)) {
        row.sum[coarse] += static_cast<double>(part.values[i]);
        ++row.count[coarse];
        if (part.reasons[i] == Reason::too_uncertain) ++row.uncertain[coarse];
      } else {
        row.reason[coarse] =
            std::min(row.reason[coarse], static_cast<std::uint8_t>(part.reasons[i]));
      }
    }
  }
  return row;
}

}  // namespace

Raster::Raster(const Grid& g, Reason reason)
    : grid(g),
      values(g.cells(), std::numeric_limits<float>::quiet_NaN()),
      reasons(g.cells(), reason) {}

void Raster::clear(std::size_t i, Reason reason) {
  values[i] = std::numeric_limits<float>::quiet_NaN();
  reasons[i] = reason;
}

std::optional<double> value_at(const Raster& raster, Point p) {
  const Grid& grid = raster.grid;
  const double across = (p.x - grid.x_left) / grid.cell_m - 0.5;
  const double down = (grid.y_top - p.y) / grid.cell_m - 0.5;
  if (!(std::abs(across) < 1e9 && std::abs(down) < 1e9)) return {};
  const int column = static_cast<int>(std::floor(across));
  const int row = static_cast<int>(std::floor(down));
  const double right = across - column;
  const double below = down - row;
  double sum = 0;
  double weights = 0;
  for (int r = 0; r < 2; ++r) {
    for (int c = 0; c < 2; ++c) {
      const double weight = (r == 0 ? 1 - below : below) * (c == 0 ? 1 - right : right);
      if (!(weight > 0) || !grid.contains_cell(row + r, column + c)) continue;
      const std::size_t i = grid.index(row + r, column + c);
      if (!raster.has_value(i)) continue;
      sum += weight * static_cast<double>(raster.values[i]);
      weights += weight;
    }
  }
  if (!(weights > 0)) return {};
  return sum / weights;
}

std::unique_ptr<RasterReader> reader_of(Raster raster) {
  return std::make_unique<MemoryReader>(std::move(raster));
}

Raster overview(const RasterReader& reader, int longest_side) {
  const Grid& fine = reader.grid();
  const int side = std::max(longest_side, 1);
  const int factor = std::max(1, (std::max(fine.columns, fine.rows) + side - 1) / side);
  Raster coarse(Grid{fine.x_left, fine.y_top, fine.cell_m * factor,
                     (fine.columns + factor - 1) / factor, (fine.rows + factor - 1) / factor});
  int coarse_row = 0;
  for (const Window& block : row_blocks(fine, factor)) {
    const CoarseRow row = sums_of(reader.read(block), factor, coarse.grid.columns);
    for (int c = 0; c < coarse.grid.columns; ++c) {
      const auto k = static_cast<std::size_t>(c);
      const std::size_t i = coarse.grid.index(coarse_row, c);
      if (row.count[k] > 0) {
        coarse.set(i, row.sum[k] / row.count[k]);
        if (2 * row.uncertain[k] > row.count[k]) coarse.reasons[i] = Reason::too_uncertain;
      } else {
        coarse.clear(i, static_cast<Reason>(row.reason[k]));
      }
    }
    ++coarse_row;
  }
  return coarse;
}

}  // namespace evendrip
