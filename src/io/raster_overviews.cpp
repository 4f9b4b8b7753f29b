// SPDX-License-Identifier: Apache-2.0
#include "raster_overviews.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {
namespace {

/// Some rows of one band.
struct Rows {
  int columns = 0;
  int rows = 0;
  std::vector<float> cells;

  Rows(int c, int r)
      : columns(c), rows(r), cells(static_cast<std::size_t>(c) * static_cast<std::size_t>(r)) {}
  float& at(int row, int column) {
    return cells[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
                 static_cast<std::size_t>(column)];
  }
};

/// Calls use(value) for the cells under one coarse cell, cut at the edges.
template <typename Use>
void for_each_under(Rows& fine, int row, int column, const Use& use) {
  for (int r = 2 * row; r < std::min(2 * row + 2, fine.rows); ++r)
    for (int c = 2 * column; c < std::min(2 * column + 2, fine.columns); ++c) use(fine.at(r, c));
}

float mean_under(Rows& fine, int row, int column) {
  double sum = 0;
  int count = 0;
  for_each_under(fine, row, column, [&](float value) {
    if (std::isnan(value)) return;
    sum += value;
    ++count;
  });
  return count == 0 ? std::numeric_limits<float>::quiet_NaN() : static_cast<float>(sum / count);
}

float reason_under(Rows& fine, int row, int column) {
  constexpr auto uncertain = static_cast<float>(Reason::too_uncertain);
  float first = -1;
  int certain = 0;
  int doubtful = 0;
  for_each_under(fine, row, column, [&](float reason) {
    if (first < 0) first = reason;
    if (reason == 0) ++certain;
    if (reason == uncertain) ++doubtful;
  });
  if (certain + doubtful == 0) return first;
  return doubtful > certain ? uncertain : 0;
}

bool coarsen_rows(GDALRasterBand& fine_band, GDALRasterBand& coarse_band, int first_row, int rows,
                  bool reasons) {
  const int fine_first = 2 * first_row;
  Rows fine(fine_band.GetXSize(), std::min(2 * rows, fine_band.GetYSize() - fine_first));
  Rows coarse(coarse_band.GetXSize(), rows);
  if (fine_band.RasterIO(GF_Read, 0, fine_first, fine.columns, fine.rows, fine.cells.data(),
                         fine.columns, fine.rows, GDT_Float32, 0, 0, nullptr) != CE_None)
    return false;
  for (int row = 0; row < coarse.rows; ++row)
    for (int column = 0; column < coarse.columns; ++column)
      coarse.at(row, column) =
          reasons ? reason_under(fine, row, column) : mean_under(fine, row, column);
  return coarse_band.RasterIO(GF_Write, 0, first_row, coarse.columns, coarse.rows,
                              coarse.cells.data(), coarse.columns, coarse.rows, GDT_Float32, 0, 0,
                              nullptr) == CE_None;
}

std::vector<int> factors_for(int columns, int rows, int tile) {
  std::vector<int> factors;
  for (int factor = 2; std::max(columns, rows) > tile * (factor / 2); factor *= 2)
    factors.push_back(factor);
  return factors;
}

}  // namespace

void add_overviews(GDALDataset& raster, int tile, const Work& work, double until_frac) {
  std::vector<int> factors = factors_for(raster.GetRasterXSize(), raster.GetRasterYSize(), tile);
  if (factors.empty()) return;
  const int bands = raster.GetRasterCount();
  if (raster.BuildOverviews("NONE", static_cast<int>(factors.size()), factors.data(), 0, nullptr,
                            GDALDummyProgress, nullptr, nullptr) != CE_None)
    return;
  double done = 0;
  for (int b = 1; b <= bands; ++b) {
    GDALRasterBand* fine = raster.GetRasterBand(b);
    for (int level = 0; level < static_cast<int>(factors.size()); ++level) {
      GDALRasterBand* coarse = raster.GetRasterBand(b)->GetOverview(level);
      for (int row = 0; row < coarse->GetYSize(); row += tile) {
        if (work.stop.stop_requested()) throw Interrupted();
        const int rows = std::min(tile, coarse->GetYSize() - row);
        if (!coarsen_rows(*fine, *coarse, row, rows, b == bands)) return;
        done += static_cast<double>(rows) / raster.GetRasterYSize() / bands;
        if (work.progress) work.progress(until_frac * std::min(1.0, done));
      }
      fine = coarse;
    }
  }
}

}  // namespace evendrip
