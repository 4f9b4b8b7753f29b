// SPDX-License-Identifier: Apache-2.0
// Rasters in: what they are, and one band of them warped to our grid.
#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>
#include <mutex>
#include <optional>
#include <utility>

#include <fmt/format.h>
#include <gdalwarper.h>

#include "evendrip/base/error.hpp"
#include "evendrip/io/raster_file.hpp"
#include "file_errors.hpp"
#include "gdal_session.hpp"
#include "pixels_inside.hpp"
#include "raster_grid.hpp"

namespace evendrip {
namespace {

constexpr float nan = std::numeric_limits<float>::quiet_NaN();

InputError raster_problem(const std::string& file, std::string code, std::string text,
                          std::string found, std::string expected, std::string remedy) {
  return InputError(Doubt{std::move(code),
                          Severity::problem,
                          {file, "", 0, ""},
                          std::move(text),
                          std::move(found),
                          std::move(expected),
                          std::move(remedy)});
}

DatasetHandle open_raster(const FileRef& file) {
  DatasetHandle raster =
      open_allowed(file, GDAL_OF_RASTER, allowed_raster_drivers(), "a raster", {});
  if (raster->GetRasterCount() < 1)
    throw raster_problem(file.as_written, "unreadable_file", "the raster has no band", "",
                         "one band or more", "Export the raster again");
  return raster;
}

PixelMap pixel_map_of(GDALDataset& raster, const std::string& file) {
  GdalMessages messages;
  if (const std::optional<PixelMap> map = PixelMap::of(raster)) return *map;
  throw raster_problem(file, "raster_without_georeference",
                       "the raster does not say where on earth it lies", "",
                       "a georeferenced raster", "Export it as GeoTIFF with its georeference");
}

/// From cells of the window that is being read to pixels of the source, for GDAL's warper.
struct CellsToPixels {
  Grid window;
  PixelMap pixels;
  std::optional<Transform> to_source;  ///< empty: same CRS
  std::optional<Transform> to_grid;

  Point pixel_at(Point ground) const {
    return pixels.to_pixel(to_source ? (*to_source)(ground) : ground);
  }
  Point pixel_of(Point cell) const {
    return pixel_at(
        {window.x_left + cell.x * window.cell_m, window.y_top - cell.y * window.cell_m});
  }
  Point cell_at(Point pixel) const {
    const Point there = pixels.to_ground(pixel);
    const Point ground = to_grid ? (*to_grid)(there) : there;
    return {(ground.x - window.x_left) / window.cell_m, (window.y_top - ground.y) / window.cell_m};
  }
};

/// GDALTransformerFunc over CellsToPixels.
int transform_points(void* argument, int to_pixels, int count, double* x, double* y, double*,
                     int* good) {
  const auto& map = *static_cast<const CellsToPixels*>(argument);
  for (int i = 0; i < count; ++i) {
    try {
      const Point p = to_pixels != 0 ? map.pixel_of({x[i], y[i]}) : map.cell_at({x[i], y[i]});
      x[i] = p.x;
      y[i] = p.y;
      good[i] = std::isfinite(p.x) && std::isfinite(p.y) ? TRUE : FALSE;
    } catch (const Error&) {
      good[i] = FALSE;
    }
    if (good[i] == FALSE) x[i] = y[i] = HUGE_VAL;
  }
  return TRUE;
}

struct DestroyWarpOptions {
  void operator()(GDALWarpOptions* options) const { GDALDestroyWarpOptions(options); }
};
using WarpOptions = std::unique_ptr<GDALWarpOptions, DestroyWarpOptions>;

/// One band of a source as it is warped window by window. Windows are computed exactly, without an
/// approximating transformer, so that a value does not depend on the window it was read in.
class WarpedReader : public RasterReader {
 public:
  WarpedReader(DatasetHandle source, FileRef file, int band, const Grid& grid, CellsToPixels map,
               GDALResampleAlg method)
      : source_(std::move(source)),
        file_(std::move(file)),
        band_(band),
        grid_(grid),
        map_(std::move(map)),
        method_(method) {}

  void count_only_inside(const MultiPolygon& shape) {
    inside_.emplace(
        shape, [this](Point p) { return map_.pixel_at(p); }, source_->GetRasterXSize(),
        source_->GetRasterYSize());
  }

  const Grid& grid() const override { return grid_; }

  Raster read(const Window& window) const override {
    const std::scoped_lock lock(mutex_);
    GdalMessages messages;
    Raster part(sub_grid(grid_, window));
    map_.window = part.grid;
    warp_into(part, messages);
    GDALRasterBand& band = *source_->GetRasterBand(band_);
    const double scale = band.GetScale();
    const double offset = band.GetOffset();
    for (std::size_t i = 0; i < part.values.size(); ++i) {
      if (std::isfinite(part.values[i]) && counts(i)) {
        part.set(i, part.values[i] * scale + offset);
      } else {
        part.clear(i, reason_at(i));
      }
    }
    return part;
  }

 private:
  Point pixel_under(std::size_t i) const {
    const auto columns = static_cast<std::size_t>(map_.window.columns);
    const std::size_t row = i / columns;
    const std::size_t column = i % columns;
    return map_.pixel_of({static_cast<double>(column) + 0.5, static_cast<double>(row) + 0.5});
  }

  /// A cell that got a value lies where the source can be reached.
  bool counts(std::size_t i) const {
    return !inside_ || method_ == GRA_Average || inside_->contains(pixel_under(i));
  }

  /// Nodata inside the source, nothing outside.
  Reason reason_at(std::size_t i) const {
    try {
      const Point pixel = pixel_under(i);
      const bool inside = pixel.x >= 0 && pixel.y >= 0 && pixel.x <= source_->GetRasterXSize() &&
                          pixel.y <= source_->GetRasterYSize();
      return inside ? Reason::source_nodata : Reason::no_source;
    } catch (const Error&) {
      return Reason::no_source;
    }
  }

  WarpOptions warp_options(GDALDataset& target) const {
    constexpr double memory_limit_bytes = 64.0 * 1024 * 1024;
    WarpOptions options(GDALCreateWarpOptions());
    options->hSrcDS = source_.get();
    options->hDstDS = &target;
    options->eResampleAlg = method_;
    options->eWorkingDataType = GDT_Float32;
    options->dfWarpMemoryLimit = memory_limit_bytes;
    options->pfnTransformer = transform_points;
    options->pTransformerArg = &map_;
    GDALWarpInitDefaultBandMapping(options.get(), 1);
    options->panSrcBands[0] = band_;
    options->panDstBands[0] = 1;
    GDALWarpInitSrcNoDataReal(options.get(), std::numeric_limits<double>::quiet_NaN());
    GDALWarpInitDstNoDataReal(options.get(), std::numeric_limits<double>::quiet_NaN());
    int has_nodata = FALSE;
    const double nodata = source_->GetRasterBand(band_)->GetNoDataValue(&has_nodata);
    if (has_nodata != FALSE) options->padfSrcNoDataReal[0] = nodata;
    for (int b = 1; b <= source_->GetRasterCount(); ++b)
      if (b != band_ && source_->GetRasterBand(b)->GetColorInterpretation() == GCI_AlphaBand)
        options->nSrcAlphaBand = b;
    options->papszWarpOptions = CSLSetNameValue(options->papszWarpOptions, "INIT_DEST", "NO_DATA");
    options->papszWarpOptions = CSLSetNameValue(options->papszWarpOptions, "NUM_THREADS", "1");
    return options;
  }

  /// Rows of the source that the window lies in, with room for what is interpolated.
  std::pair<int, int> source_rows() const {
    constexpr int points = 8;  // along a side: sides may bend in another CRS
    constexpr double room = 4;
    double least = source_->GetRasterYSize();
    double most = 0;
    for (int i = 0; i <= points; ++i) {
      const double x = map_.window.columns * static_cast<double>(i) / points;
      const double y = map_.window.rows * static_cast<double>(i) / points;
      for (const Point cell : {Point{x, 0}, Point{x, static_cast<double>(map_.window.rows)},
                               Point{0, y}, Point{static_cast<double>(map_.window.columns), y}}) {
        const double row = map_.pixel_of(cell).y;
        least = std::min(least, row);
        most = std::max(most, row);
      }
    }
    return {static_cast<int>(std::floor(std::max(0.0, least - room))),
            static_cast<int>(std::ceil(std::min<double>(source_->GetRasterYSize(), most + room)))};
  }

  void warp_into(Raster& part, const GdalMessages& messages) const {
    GDALDriver* memory = GetGDALDriverManager()->GetDriverByName("MEM");
    const DatasetHandle target(
        memory->Create("", part.grid.columns, part.grid.rows, 1, GDT_Float32, nullptr));
    if (!target) {
      throw FileError("not_readable", file_.as_written,
                      "there is no room for a part of the raster: " + messages.text(),
                      "Use a coarser analysis grid or fewer threads");
    }
    GDALRasterBand& band = *target->GetRasterBand(1);
    const WarpOptions options = warp_options(*target);
    if (inside_) {
      const auto [first, last] = source_rows();
      std::unique_ptr<OGRMultiPolygon> outline = inside_->outline(first, last);
      if (!outline) return std::fill(part.values.begin(), part.values.end(), nan);
      options->hCutline = OGRGeometry::ToHandle(outline.release());  // destroyed with the options
    }
    GDALWarpOperation operation;
    const bool good =
        operation.Initialize(options.get()) == CE_None &&
        operation.ChunkAndWarpImage(0, 0, part.grid.columns, part.grid.rows) == CE_None &&
        band.RasterIO(GF_Read, 0, 0, part.grid.columns, part.grid.rows, part.values.data(),
                      part.grid.columns, part.grid.rows, GDT_Float32, 0, 0, nullptr) == CE_None;
    if (!good || messages.failed()) throw unreadable(messages.text());
  }

  InputError unreadable(const std::string& cause) const {
    return raster_problem(file_.as_written, "unreadable_file",
                          "the raster cannot be read to its end: " +
                              as_user_knows(cause, file_.path, file_.as_written),
                          "", "a whole raster",
                          "It may be cut off or damaged: copy or export it again");
  }

  DatasetHandle source_;
  FileRef file_;
  int band_;
  Grid grid_;
  mutable CellsToPixels map_;
  GDALResampleAlg method_;
  std::optional<PixelsInside> inside_;
  mutable std::mutex mutex_;
};

void check_overlap(const std::string& file, const CellsToPixels& map, const Grid& grid,
                   const Extent& source) {
  const auto no_overlap = [&file](const std::string& found) {
    return raster_problem(file, "raster_without_overlap", "the raster does not reach the field",
                          found, "a raster of the field", "Check the raster and its CRS");
  };
  Extent field = grid.extent();
  if (map.to_source) {
    try {
      field = transformed_extent(field, *map.to_source);
    } catch (const InputError& error) {
      if (error.problems().front().code != "not_transformable") throw;
      throw no_overlap("a CRS whose domain does not hold the field");
    }
  }
  if (!field.intersects(source))
    throw no_overlap(
        fmt::format("x {:.8g} to {:.8g}, y {:.8g} to {:.8g}; the field lies at x "
                    "{:.8g} to {:.8g}, y {:.8g} to {:.8g}",
                    source.x_min, source.x_max, source.y_min, source.y_max, field.x_min,
                    field.x_max, field.y_min, field.y_max));
}

bool has_any_value(const RasterReader& reader) {
  constexpr int block_rows = 256;
  for (const Window& window : row_blocks(reader.grid(), block_rows)) {
    const Raster part = reader.read(window);
    if (std::find(part.reasons.begin(), part.reasons.end(), Reason::value) != part.reasons.end())
      return true;
  }
  return false;
}

GDALResampleAlg method_for(const PixelSize& pixel, double cell_m, Resampling resampling) {
  if (resampling == Resampling::nearest) return GRA_NearestNeighbour;
  constexpr double just_below = 0.999;
  const double pixel_m = std::sqrt(pixel.x_m * pixel.y_m);
  return pixel_m < just_below * cell_m ? GRA_Average : GRA_Bilinear;
}

}  // namespace

RasterInfo raster_info(const FileRef& file) {
  const DatasetHandle raster = open_raster(file);
  const PixelMap map = pixel_map_of(*raster, file.as_written);
  GdalMessages messages;
  RasterInfo info;
  info.file = file.as_written;
  info.crs = crs_of(raster->GetSpatialRef());
  info.columns = raster->GetRasterXSize();
  info.rows = raster->GetRasterYSize();
  info.bands = raster->GetRasterCount();
  info.extent = extent_of(map, info.columns, info.rows);
  const PixelSize size = pixel_size(map, info.columns, info.rows, info.crs);
  info.pixel_x_m = size.x_m;
  info.pixel_y_m = size.y_m;
  for (int b = 1; b <= info.bands; ++b) {
    GDALRasterBand& band = *raster->GetRasterBand(b);
    int has_nodata = FALSE;
    band.GetNoDataValue(&has_nodata);
    info.has_nodata =
        info.has_nodata || has_nodata != FALSE || (band.GetMaskFlags() & GMF_ALL_VALID) == 0;
    const std::string name = band.GetDescription();
    info.band_names.push_back(name.empty() ? fmt::format("band {}", b) : name);
    info.band_units.emplace_back(band.GetUnitType());
    info.band_holds_integers.push_back(GDALDataTypeIsInteger(band.GetRasterDataType()) != FALSE &&
                                       band.GetScale() == 1 && band.GetOffset() == 0);
  }
  return info;
}

namespace {

std::unique_ptr<WarpedReader> warped(const FileRef& file, int band, const Grid& grid,
                                     const Crs& crs, Resampling resampling) {
  DatasetHandle raster = open_raster(file);
  const int bands = raster->GetRasterCount();
  if (band < 1 || band > bands)
    throw raster_problem(file.as_written, "no_such_band", "the raster has no such band",
                         std::to_string(band), fmt::format("1 to {}", bands),
                         "Name one of its bands");
  const PixelMap pixels = pixel_map_of(*raster, file.as_written);
  const Crs source_crs = crs_of(raster->GetSpatialRef());
  if (!source_crs.known())
    throw raster_problem(file.as_written, "raster_without_crs",
                         "the raster does not say in which CRS it is", "", "a raster with a CRS",
                         "Export it as GeoTIFF with its CRS");
  CellsToPixels map{grid, pixels, std::nullopt, std::nullopt};
  if (!same_crs(source_crs, crs)) {
    map.to_source.emplace(crs, source_crs);
    map.to_grid.emplace(source_crs, crs);
  }
  const int columns = raster->GetRasterXSize();
  const int rows = raster->GetRasterYSize();
  check_overlap(file.as_written, map, grid, extent_of(pixels, columns, rows));
  const GDALResampleAlg method =
      method_for(pixel_size(pixels, columns, rows, source_crs), grid.cell_m, resampling);
  auto reader =
      std::make_unique<WarpedReader>(std::move(raster), file, band, grid, std::move(map), method);
  if (has_any_value(*reader)) return reader;
  throw raster_problem(file.as_written, "raster_all_nodata",
                       fmt::format("band {} has no value anywhere in the field", band), "",
                       "values in the field", "Check the raster and the band");
}

}  // namespace

std::unique_ptr<RasterReader> open_raster_on_grid(const FileRef& file, int band, const Grid& grid,
                                                  const Crs& crs, Resampling resampling) {
  return warped(file, band, grid, crs, resampling);
}

std::unique_ptr<RasterReader> open_raster_inside(const FileRef& file, int band, const Grid& grid,
                                                 const Crs& crs, const MultiPolygon& shape) {
  std::unique_ptr<WarpedReader> reader = warped(file, band, grid, crs, Resampling::automatic);
  reader->count_only_inside(shape);
  if (has_any_value(*reader)) return reader;
  throw raster_problem(file.as_written, "raster_too_coarse",
                       "no pixel of the raster lies wholly inside the zones: each mixes in what is "
                       "outside",
                       "", "pixels smaller than the zones", "Use a finer raster");
}

}  // namespace evendrip
