// SPDX-License-Identifier: Apache-2.0
// Rasters in and out. In: any raster of an allowed GDAL driver, warped to our grid as it is read.
// Out: cloud-optimised GeoTIFF, written row block by row block so that memory does not grow with
// the raster.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/geo/raster.hpp"
#include "evendrip/io/paths.hpp"

namespace evendrip {

struct RasterInfo {
  std::string file;
  Crs crs;
  int columns = 0;
  int rows = 0;
  int bands = 0;
  double pixel_x_m = 0;  ///< size of a pixel at the centre, m on the ground
  double pixel_y_m = 0;
  Extent extent;  ///< in its own CRS
  bool has_nodata = false;
  std::vector<std::string> band_names;
  std::vector<std::string> band_units;  ///< as the file says, "m" or "US survey foot"; often empty
  std::vector<bool> band_holds_integers;  ///< of its data type, without a scale or offset
};
/// Throws InputError: not a raster, driver not allowed, no georeference.
RasterInfo raster_info(const FileRef& file);

/// One band warped to the grid as it is read: area average when its pixels are smaller than the
/// cells, bilinear when larger, nearest for classes. Reads by blocks; GDAL's cache is bounded.
/// Throws InputError: no CRS ("raster_without_crs"), no overlap ("raster_without_overlap"), all
/// nodata ("raster_all_nodata"), no such band; here and in read(), data that are cut off or damaged
/// ("unreadable_file").
enum class Resampling { automatic, nearest };
std::unique_ptr<RasterReader> open_raster_on_grid(const FileRef& file, int band, const Grid& grid,
                                                  const Crs& crs,
                                                  Resampling resampling = Resampling::automatic);
/// The same of a part of the source: pixels that do not lie wholly inside the shape (of `crs`; its
/// parts may share edges) mix in what is outside and do not count. Where pixels are larger than
/// cells, a cell whose centre lies in such a pixel has no value (source_nodata), and others are
/// interpolated between the pixels that count.
std::unique_ptr<RasterReader> open_raster_inside(const FileRef& file, int band, const Grid& grid,
                                                 const Crs& crs, const MultiPolygon& shape);

/// A band of a GeoTIFF written by GeotiffWriter, on its own grid, reasons from its mask band.
/// Throws std::invalid_argument for a band that it does not have.
std::unique_ptr<RasterReader> open_geotiff(const std::filesystem::path& file, int band = 1);

struct GeotiffBand {
  std::string name;  ///< band description
  std::string unit;  ///< "L/h", "" for none
};
struct GeotiffOptions {
  std::vector<GeotiffBand>
      bands;  ///< Float32 value bands, then a band "reason" (0-255 codes) is added
  std::vector<std::pair<std::string, std::string>> metadata;  ///< method, seed, version ...
  int row_block = 256;
};

/// Writes `<file>` as a COG (DEFLATE, nodata NaN, overviews, statistics). Values go to a
/// tiled file beside it, which `finish` converts and removes; temporary disk is about the size of
/// the uncompressed raster at most. A writer that is destroyed unfinished leaves no file.
class GeotiffWriter {
 public:
  GeotiffWriter(std::filesystem::path file, const Grid& grid, const Crs& crs,
                const GeotiffOptions& options);
  ~GeotiffWriter();
  GeotiffWriter(GeotiffWriter&&) noexcept;
  /// parts: one Raster of the window for each band; the reasons of the first are stored.
  /// Throws FileError (disk full, not writable).
  void write(const Window& window, std::span<const Raster> parts);
  void finish(const Work& work);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// World file (.pgw) and .aux.xml with the CRS beside a PNG whose pixels cover `extent` exactly.
void write_world_file(const std::filesystem::path& png, const Extent& extent, int width_px,
                      int height_px, const Crs& crs);

}  // namespace evendrip
