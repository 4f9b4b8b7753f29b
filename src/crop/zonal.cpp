// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/zonal.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <mutex>
#include <utility>

namespace evendrip {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Sums of a part of the cells under a shape.
struct Partial {
  double weight = 0;
  double missing = 0;
  double mean = 0;
  double squares = 0;  ///< of differences from the mean
  double min = infinity;
  double max = -infinity;

  void add(const Partial& other) {
    missing += other.missing;
    if (!(other.weight > 0)) return;
    const double total = weight + other.weight;
    const double share = other.weight / total;
    const double step = other.mean - mean;
    squares += other.squares + step * step * weight * share;
    mean += share * step;
    weight = total;
    min = std::min(min, other.min);
    max = std::max(max, other.max);
  }
};

CoverageStatistics statistics_of(const Partial& sum) {
  if (!(sum.weight > 0)) return {0, sum.missing, 0, 0, 0, 0};
  return {sum.weight, sum.missing, sum.mean, std::sqrt(sum.squares / sum.weight), sum.min, sum.max};
}

/// Columns from `from` to below `to` that a shape reaches in some rows.
struct Reach {
  int from = 0;
  int to = 0;
  bool empty() const { return from >= to; }
};

/// By the outer rings' edges, each cut to the rows.
Reach reach_of(const Grid& grid, const MultiPolygon& shape, int row, int rows) {
  const double y_high = grid.y_top - row * grid.cell_m;
  const double y_low = y_high - rows * grid.cell_m;
  double x_min = infinity;
  double x_max = -infinity;
  const auto include = [&](double x) {
    x_min = std::min(x_min, x);
    x_max = std::max(x_max, x);
  };
  for (const Polygon& polygon : shape) {
    for (std::size_t i = 0; i < polygon.outer.size(); ++i) {
      Point a = polygon.outer[i];
      Point b = polygon.outer[(i + 1) % polygon.outer.size()];
      if (a.y > b.y) std::swap(a, b);
      if (b.y < y_low || a.y > y_high) continue;
      const double slope = b.y > a.y ? (b.x - a.x) / (b.y - a.y) : 0;
      include(a.y < y_low ? a.x + (y_low - a.y) * slope : a.x);
      include(b.y > y_high ? b.x + (y_high - b.y) * slope : b.x);
    }
  }
  if (x_min > x_max) return {};
  const auto column = [&](double x) {
    return std::clamp(std::floor((x - grid.x_left) / grid.cell_m), -1.0,
                      static_cast<double>(grid.columns));
  };
  // A column more on each side: rounding of the cut must not lose a sliver of a cell.
  return {std::max(0, static_cast<int>(column(x_min)) - 1),
          std::min(grid.columns, static_cast<int>(column(x_max)) + 2)};
}

/// Differences are taken from the first value met, so that squares keep their digits.
class RowSums {
 public:
  void add(const float* values, const Reason* reasons, const double* weights, int count) {
    for (int c = 0; c < count; ++c) {
      const double weight = weights[c];
      if (weight <= 0) continue;
      if (!carries_value(reasons[c])) {
        missing_ += weight;
        continue;
      }
      const auto value = static_cast<double>(values[c]);
      if (!(weight_ > 0)) base_ = value;
      const double step = value - base_;
      weight_ += weight;
      sum_ += weight * step;
      squares_ += weight * step * step;
      min_ = std::min(min_, value);
      max_ = std::max(max_, value);
    }
  }

  Partial partial() const {
    Partial part;
    part.missing = missing_;
    if (!(weight_ > 0)) return part;
    const double step = sum_ / weight_;
    part.weight = weight_;
    part.mean = base_ + step;
    part.squares = std::max(0.0, squares_ - step * sum_);
    part.min = min_;
    part.max = max_;
    return part;
  }

 private:
  double weight_ = 0;
  double missing_ = 0;
  double base_ = 0;
  double sum_ = 0;
  double squares_ = 0;
  double min_ = infinity;
  double max_ = -infinity;
};

/// The cells of `part`, which starts at `corner` of the grid, under a coverage of a window of the
/// grid whose own corner is `block`.
Partial partial_under(const Raster& part, const Window& corner, const Coverage& coverage,
                      const Window& block) {
  RowSums sums;
  const Window& window = coverage.window;
  for (int r = 0; r < window.rows; ++r) {
    const std::size_t from = part.grid.index(block.row + window.row + r - corner.row,
                                             block.column + window.column - corner.column);
    const std::size_t weights =
        static_cast<std::size_t>(r) * static_cast<std::size_t>(window.columns);
    sums.add(&part.values[from], &part.reasons[from], &coverage.fraction[weights], window.columns);
  }
  return sums.partial();
}

struct Rows {
  int from = 0;
  int to = 0;
};

/// Shapes over one raster, band of rows by band of rows.
class Sweep {
 public:
  Sweep(const RasterReader& reader, std::span<const MultiPolygon> shapes, int band_rows)
      : reader_(reader), shapes_(shapes), band_rows_(band_rows), rows_(shapes.size()) {
    int first = reader.grid().rows;
    for (std::size_t i = 0; i < shapes.size(); ++i) {
      const Window window = window_of(reader.grid(), extent_of(shapes[i]));
      if (window.empty()) continue;
      rows_[i] = {window.row, window.row + window.rows};
      first = std::min(first, window.row);
      last_row_ = std::max(last_row_, rows_[i].to);
    }
    first_row_ = std::min(first, last_row_);
  }

  std::vector<CoverageStatistics> statistics(const Work& work) {
    const auto bands =
        static_cast<std::size_t>((last_row_ - first_row_ + band_rows_ - 1) / band_rows_);
    std::vector<std::vector<std::pair<std::size_t, Partial>>> found(bands);
    for_each_chunk(work, bands, 1, [&](std::size_t begin, std::size_t, int) {
      found[begin] = partials(first_row_ + static_cast<int>(begin) * band_rows_);
    });
    std::vector<Partial> sums(shapes_.size());
    for (const auto& band : found) {
      for (const auto& [shape, partial] : band) sums[shape].add(partial);
    }
    std::vector<CoverageStatistics> result;
    result.reserve(sums.size());
    for (const Partial& sum : sums) result.push_back(statistics_of(sum));
    return result;
  }

 private:
  std::vector<std::pair<std::size_t, Partial>> partials(int row) {
    const int rows = std::min(band_rows_, last_row_ - row);
    std::vector<std::pair<std::size_t, Reach>> reached;
    Reach all{reader_.grid().columns, 0};
    for (std::size_t i = 0; i < shapes_.size(); ++i) {
      if (rows_[i].from >= row + rows || rows_[i].to <= row) continue;
      const Reach reach = reach_of(reader_.grid(), shapes_[i], row, rows);
      if (reach.empty()) continue;
      reached.emplace_back(i, reach);
      all = {std::min(all.from, reach.from), std::max(all.to, reach.to)};
    }
    std::vector<std::pair<std::size_t, Partial>> found;
    if (reached.empty()) return found;
    const Window whole{row, all.from, rows, all.to - all.from};
    const Raster part = read(whole);
    for (const auto& [i, reach] : reached) {
      const Window block{row, reach.from, rows, reach.to - reach.from};
      const Coverage coverage = coverage_of(sub_grid(reader_.grid(), block), shapes_[i]);
      if (!coverage.window.empty())
        found.emplace_back(i, partial_under(part, whole, coverage, block));
    }
    return found;
  }

  Raster read(const Window& window) {
    const std::scoped_lock lock(mutex_);
    return reader_.read(window);
  }

  const RasterReader& reader_;
  std::span<const MultiPolygon> shapes_;
  int band_rows_;
  std::vector<Rows> rows_;  ///< that each shape touches
  int first_row_ = 0;
  int last_row_ = 0;
  std::mutex mutex_;
};

}  // namespace

CoverageStatistics statistics_under(const RasterReader& reader, const MultiPolygon& shape,
                                    std::size_t most_cells) {
  const Window window = window_of(reader.grid(), extent_of(shape));
  if (window.empty()) return {};
  const auto columns = static_cast<std::size_t>(window.columns);
  const auto rows = static_cast<int>(
      std::clamp(most_cells / columns, std::size_t{1}, static_cast<std::size_t>(window.rows)));
  return Sweep(reader, std::span(&shape, 1), rows).statistics({}).front();
}

std::vector<CoverageStatistics> statistics_under(const RasterReader& reader,
                                                 std::span<const MultiPolygon> shapes,
                                                 const Work& work) {
  // Low bands keep the columns few that a slanting strip reaches in one.
  constexpr int band_rows = 16;
  return Sweep(reader, shapes, band_rows).statistics(work);
}

}  // namespace evendrip
