// SPDX-License-Identifier: Apache-2.0
#include "crop_mask.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <stdexcept>

#include "evendrip/base/error.hpp"
#include "evendrip/io/raster_file.hpp"

namespace evendrip {
namespace {

constexpr double finest = 4;
constexpr double rounding = 0.01;  ///< of a place, by which grid and ground lengths may differ

/// Counts of masked places above and left of each corner, to sum any box of them.
class Counts {
 public:
  Counts(int rows, int columns)
      : stride_(static_cast<std::size_t>(columns) + 1),
        sums_(stride_ * (static_cast<std::size_t>(rows) + 1)) {}

  void set_row(int row, const std::vector<bool>& masked) {
    std::size_t below = index(row + 1, 0);
    int in_row = 0;
    for (std::size_t c = 0; c < masked.size(); ++c) {
      if (masked[c]) ++in_row;
      ++below;
      sums_[below] = sums_[below - stride_] + in_row;
    }
  }
  bool any(int row, int column, int last_row, int last_column) const {
    return sums_[index(last_row + 1, last_column + 1)] - sums_[index(row, last_column + 1)] -
               sums_[index(last_row + 1, column)] + sums_[index(row, column)] >
           0;
  }

 private:
  std::size_t index(int row, int column) const {
    return static_cast<std::size_t>(row) * stride_ + static_cast<std::size_t>(column);
  }
  std::size_t stride_;
  std::vector<int> sums_;
};

}  // namespace

CropMask::CropMask(const Field& field, const CropSource& source, const Grid& grid, double pixel_m)
    : masked_values_(source.masked_values) {
  if (!source.mask) throw std::invalid_argument("the crop has no mask");
  const RasterInfo info = raster_info(*source.mask);
  const double scale = field.scale_factor;
  const double mask_m = std::sqrt(info.pixel_x_m * info.pixel_y_m) * scale;
  finer_ = static_cast<int>(std::clamp(std::ceil(grid.cell_m / mask_m), 1.0, finest));
  const double place_m = grid.cell_m / finer_;
  reach_ = std::max(0.5 * finer_, 0.5 * pixel_m * scale / place_m);
  margin_ = static_cast<int>(std::ceil(reach_ - 0.5 * finer_ - rounding));
  const Grid fine{grid.x_left - margin_ * place_m, grid.y_top + margin_ * place_m, place_m,
                  grid.columns * finer_ + 2 * margin_, grid.rows * finer_ + 2 * margin_};
  try {
    mask_ = open_raster_on_grid(*source.mask, 1, fine, field.crs, Resampling::nearest);
  } catch (const InputError& error) {
    if (error.problems().front().code != "raster_all_nodata") throw;
  }
}

bool CropMask::masks(const Raster& part, std::size_t i) const {
  if (!part.has_value(i)) return false;
  const auto value = std::lround(part.values[i]);
  if (masked_values_.empty()) return value != 0;
  return std::find(masked_values_.begin(), masked_values_.end(), value) != masked_values_.end();
}

std::vector<bool> CropMask::over(const Window& window) const {
  std::vector<bool> masked(window.cells(), false);
  if (!mask_ || window.empty()) return masked;
  const Window fine{window.row * finer_, window.column * finer_, window.rows * finer_ + 2 * margin_,
                    window.columns * finer_ + 2 * margin_};
  const Raster part = mask_->read(fine);
  Counts counts(fine.rows, fine.columns);
  std::vector<bool> row(static_cast<std::size_t>(fine.columns));
  for (int r = 0; r < fine.rows; ++r) {
    for (int c = 0; c < fine.columns; ++c)
      row[static_cast<std::size_t>(c)] = masks(part, part.grid.index(r, c));
    counts.set_row(r, row);
  }
  const auto first = [&](int cell) {
    return static_cast<int>(std::floor((cell + 0.5) * finer_ + margin_ - reach_ + rounding));
  };
  const auto last = [&](int cell) {
    return static_cast<int>(std::ceil((cell + 0.5) * finer_ + margin_ + reach_ - rounding)) - 1;
  };
  std::size_t i = 0;
  for (int r = 0; r < window.rows; ++r) {
    for (int c = 0; c < window.columns; ++c, ++i)
      masked[i] = counts.any(first(r), first(c), last(r), last(c));
  }
  return masked;
}

}  // namespace evendrip
