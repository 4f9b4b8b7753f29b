// SPDX-License-Identifier: Apache-2.0
// Cleaned yields on a grid by local block kriging, with the standard error of each cell's mean;
// several seasons as one map of stability.
//
// Block kriging: Journel & Huijbregts 1978; Isaaks & Srivastava 1989, ch. 13. Stability, level and
// year-to-year variation of relative yields: Blackmore 2000, Comput. Electron. Agric. 26:37-51
// (from memory).
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/raster.hpp"
#include "evendrip/surface/variogram.hpp"
#include "evendrip/units/quantity.hpp"

namespace evendrip {

struct YieldMapOptions {
  int most = 16;            ///< points that count for a cell
  double within_m = 0;      ///< farther ones do not; 0: three times the longer of cell and swath
  double swath_m = 0;       ///< 0: not known
  int points_per_side = 4;  ///< Gauss-Legendre points of a cell, each way
  std::optional<VariogramModel> variogram;  ///< nothing: fitted to the points
  UnitSystem units = UnitSystem::metric;    ///< of what is told; the points are yields in t/ha
};

struct YieldMap {
  Raster yield;           ///< mean of each cell, in the points' unit
  Raster standard_error;  ///< of that mean
  VariogramModel variogram;
  std::vector<VariogramLag> lags;
  std::string method_text;
};
/// The variogram is fitted to the moment estimate up to 12 times the longer of cell and swath
/// (common practice, no source); where that shows no structure it is a nugget alone, and a cell is
/// the mean of the points in reach. Yields that are not finite do not count.
/// Cells where `wanted` is false (one flag for each cell; empty: all) are Reason::outside_zones;
/// those with no point within reach Reason::no_source; all too_few where a single point is no
/// ground for an error. Values do not depend on the order of the points or the number of threads.
/// Throws std::invalid_argument for lengths that do not match and options below 1.
YieldMap map_yield(std::span<const Point> places, std::span<const double> yields, const Grid& grid,
                   std::span<const std::uint8_t> wanted, const YieldMapOptions& options,
                   const Work& work);

struct StabilityMap {
  Raster level;      ///< mean over seasons of value over the season's median
  Raster variation;  ///< standard deviation over seasons of the same, n - 1
  int seasons = 0;
  std::string method_text;
};
/// Relative rasters of one grid, one for each season; a cell needs at least two of them.
/// Throws std::invalid_argument for fewer than two or grids that differ.
StabilityMap stability_of(std::span<const Raster> relative_seasons);

}  // namespace evendrip
