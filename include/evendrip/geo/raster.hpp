// SPDX-License-Identifier: Apache-2.0
// Values on a grid. A cell without a value says why: a reason code, never a silent NaN.
//
// Whole rasters of the analysis grid may be larger than memory: what produces or consumes them
// works window by window through RasterReader and RasterSink.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "evendrip/geo/grid.hpp"

namespace evendrip {

/// Why a cell has no value, or none to rely on; 0 means it has one. These are the codes of the
/// GeoTIFF's band "reason".
enum class Reason : std::uint8_t {
  value = 0,
  outside_zones = 1,  ///< no zone there
  no_source = 2,      ///< the source raster or log does not reach here
  source_nodata = 3,  ///< the source marks it as missing (cloud, mask)
  too_few = 4,        ///< too few measurements in reach
  failed = 5,         ///< the system of equations could not be solved
  not_computed = 6,   ///< what it takes is not in the field folder
  too_uncertain = 7   ///< it has a value, but one too uncertain for a verdict
};
constexpr bool carries_value(Reason reason) {
  return reason == Reason::value || reason == Reason::too_uncertain;
}

/// Values of one window or of a whole grid, row by row from the north, west to east.
struct Raster {
  Grid grid;
  std::vector<float> values;    ///< grid.cells(); NaN where the reason carries none
  std::vector<Reason> reasons;  ///< grid.cells()

  Raster() = default;
  explicit Raster(const Grid& g, Reason reason = Reason::no_source);
  bool has_value(std::size_t i) const { return carries_value(reasons[i]); }
  void set(std::size_t i, double v) {
    values[i] = static_cast<float>(v);
    reasons[i] = Reason::value;
  }
  void clear(std::size_t i, Reason reason);
};

/// Bilinear between the centres of the four cells about a place, of those that have values; nothing
/// where none of the four has.
std::optional<double> value_at(const Raster& raster, Point p);

/// Reads any window of a raster that may be larger than memory. Safe for one thread at a time.
class RasterReader {
 public:
  virtual ~RasterReader() = default;
  virtual const Grid& grid() const = 0;
  /// Throws FileError if the source cannot be read.
  virtual Raster read(const Window& window) const = 0;
};

/// Takes windows of a raster that may be larger than memory: full rows, north to south, each once.
class RasterSink {
 public:
  virtual ~RasterSink() = default;
  virtual const Grid& grid() const = 0;
  virtual void write(const Window& window, const Raster& part) = 0;
};

/// A raster held in memory, as a reader.
std::unique_ptr<RasterReader> reader_of(Raster raster);

/// The same raster coarsened by whole factors so that neither side exceeds `longest_side` cells:
/// means of the cells that have values, too uncertain where more than half of those are. Reads by
/// blocks.
Raster overview(const RasterReader& reader, int longest_side);

}  // namespace evendrip
