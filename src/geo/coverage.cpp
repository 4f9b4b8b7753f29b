// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/coverage.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

namespace evendrip {
namespace {

double twice_signed_area(const Ring& ring) {
  double sum = 0;
  for (std::size_t i = 1; i + 1 < ring.size(); ++i) {
    sum += (ring[i].x - ring[0].x) * (ring[i + 1].y - ring[0].y) -
           (ring[i + 1].x - ring[0].x) * (ring[i].y - ring[0].y);
  }
  return sum;
}

/// Each edge adds to the cells it crosses the area to its right within the cell, and its height to
/// the next cell; the sum along a row is then the share covered.
class Accumulator {
 public:
  Accumulator(const Grid& grid, const Window& window)
      : local_(sub_grid(grid, window)),
        stride_(static_cast<std::size_t>(window.columns) + 1),
        change_(stride_ * static_cast<std::size_t>(window.rows)) {}

  void add_ring(const Ring& ring, double sign) {
    if (ring.size() < 3) return;
    const double direction = twice_signed_area(ring) >= 0 ? sign : -sign;
    for (std::size_t i = 0; i < ring.size(); ++i) {
      add_edge(in_cells(ring[i]), in_cells(ring[(i + 1) % ring.size()]), direction);
    }
  }

  std::vector<double> fractions() const {
    // Sums of differences leave rounding dust where the share is exactly 0 or 1.
    constexpr double dust = 1e-12;
    std::vector<double> shares(local_.cells());
    for (int row = 0; row < local_.rows; ++row) {
      double sum = 0;
      for (int column = 0; column < local_.columns; ++column) {
        sum += change_[at(row, column)];
        const double share = std::clamp(sum, 0.0, 1.0);
        shares[local_.index(row, column)] = share < dust ? 0.0 : (share > 1 - dust ? 1.0 : share);
      }
    }
    return shares;
  }

 private:
  Point in_cells(Point p) const {
    return {(p.x - local_.x_left) / local_.cell_m, (local_.y_top - p.y) / local_.cell_m};
  }
  std::size_t at(int row, int column) const {
    return static_cast<std::size_t>(row) * stride_ + static_cast<std::size_t>(column);
  }

  /// y grows downwards here: the left side of a counter-clockwise ring runs down and counts up.
  void add_edge(Point a, Point b, double direction) {
    if (a.y == b.y) return;
    if (a.y > b.y) {
      std::swap(a, b);
      direction = -direction;
    }
    const double y_first = std::max(a.y, 0.0);
    const double y_last = std::min(b.y, static_cast<double>(local_.rows));
    if (y_first >= y_last) return;
    const double slope = (b.x - a.x) / (b.y - a.y);
    const auto x_at = [&](double y) { return y == b.y ? b.x : a.x + (y - a.y) * slope; };
    double y = y_first;
    for (int row = static_cast<int>(y_first); y < y_last; ++row) {
      const double next = std::min(y_last, row + 1.0);
      add_piece(row, x_at(y), x_at(next), direction * (next - y));
      y = next;
    }
  }

  /// A piece within one row; `height` is signed.
  void add_piece(int row, double x0, double x1, double height) {
    const double width = local_.columns;
    const double left = std::min(x0, x1);
    const double right = std::max(x0, x1);
    if (left >= width) return;
    if (right <= 0) {
      change_[at(row, 0)] += height;
      return;
    }
    const double per_width = right > left ? height / (right - left) : 0;
    if (left < 0) change_[at(row, 0)] += -left * per_width;
    const double from = std::max(left, 0.0);
    const double to = std::min(right, width);
    if (to <= from) {
      add_to_cell(row, std::min(static_cast<int>(from), local_.columns - 1), from, height);
      return;
    }
    for (int column = static_cast<int>(from); column < to; ++column) {
      const double cell_from = std::max(from, static_cast<double>(column));
      const double cell_to = std::min(to, column + 1.0);
      add_to_cell(row, column, (cell_from + cell_to) / 2, (cell_to - cell_from) * per_width);
    }
  }

  void add_to_cell(int row, int column, double mean_x, double height) {
    const double beyond = mean_x - column;
    change_[at(row, column)] += height * (1 - beyond);
    change_[at(row, column) + 1] += height * beyond;
  }

  Grid local_;
  std::size_t stride_;
  std::vector<double> change_;
};

/// Count, mean and sum of squared differences of a part (Chan, Golub & LeVeque 1979).
struct Partial {
  double weight = 0;
  double missing = 0;
  double mean = 0;
  double squares = 0;
  double min = std::numeric_limits<double>::infinity();
  double max = -std::numeric_limits<double>::infinity();
};

Partial merged(const Partial& a, const Partial& b) {
  Partial sum;
  sum.missing = a.missing + b.missing;
  sum.weight = a.weight + b.weight;
  sum.min = std::min(a.min, b.min);
  sum.max = std::max(a.max, b.max);
  if (sum.weight > 0) {
    const double step = b.mean - a.mean;
    sum.mean = a.mean + step * (b.weight / sum.weight);
    sum.squares = a.squares + b.squares + step * step * (a.weight / sum.weight) * b.weight;
  }
  return sum;
}

Partial merged(std::span<const Partial> parts) {
  if (parts.empty()) return {};
  if (parts.size() == 1) return parts[0];
  const std::size_t half = parts.size() / 2;
  return merged(merged(parts.first(half)), merged(parts.subspan(half)));
}

Partial partial_of_row(const Raster& part, int row, std::span<const double> weights) {
  Partial sum;
  const std::size_t start = part.grid.index(row, 0);
  for (std::size_t c = 0; c < weights.size(); ++c) {
    if (weights[c] <= 0) continue;
    if (!part.has_value(start + c)) {
      sum.missing += weights[c];
      continue;
    }
    const auto value = static_cast<double>(part.values[start + c]);
    const double step = value - sum.mean;
    sum.weight += weights[c];
    sum.mean += step * (weights[c] / sum.weight);
    sum.squares += weights[c] * step * (value - sum.mean);
    sum.min = std::min(sum.min, value);
    sum.max = std::max(sum.max, value);
  }
  return sum;
}

}  // namespace

Coverage coverage_of(const Grid& grid, const MultiPolygon& shape) {
  Coverage coverage;
  coverage.window = window_of(grid, extent_of(shape));
  if (coverage.window.empty()) return coverage;
  Accumulator accumulator(grid, coverage.window);
  for (const Polygon& polygon : shape) {
    accumulator.add_ring(polygon.outer, 1);
    for (const Ring& hole : polygon.holes) accumulator.add_ring(hole, -1);
  }
  coverage.fraction = accumulator.fractions();
  return coverage;
}

CoverageStatistics statistics_of(const RasterReader& reader, const Coverage& coverage) {
  constexpr std::size_t cells_per_block = 1 << 20;
  const Window& window = coverage.window;
  if (window.empty()) return {};
  const auto columns = static_cast<std::size_t>(window.columns);
  const int block_rows = static_cast<int>(std::max<std::size_t>(1, cells_per_block / columns));
  std::vector<Partial> rows;
  rows.reserve(static_cast<std::size_t>(window.rows));
  for (int row = 0; row < window.rows; row += block_rows) {
    const int count = std::min(block_rows, window.rows - row);
    const Raster part = reader.read(Window{window.row + row, window.column, count, window.columns});
    for (int r = 0; r < count; ++r) {
      const std::size_t start = static_cast<std::size_t>(row + r) * columns;
      rows.push_back(partial_of_row(part, r, std::span(coverage.fraction).subspan(start, columns)));
    }
  }
  const Partial sum = merged(rows);
  if (sum.weight <= 0) return {0, sum.missing, 0, 0, 0, 0};
  return {sum.weight, sum.missing, sum.mean, std::sqrt(sum.squares / sum.weight), sum.min, sum.max};
}

}  // namespace evendrip
