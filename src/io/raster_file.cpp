// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/raster_file.hpp"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <mutex>
#include <stdexcept>
#include <system_error>
#include <utility>

#include <cpl_string.h>
#include <fmt/format.h>

#include "evendrip/base/error.hpp"
#include "evendrip/io/results.hpp"
#include "file_errors.hpp"
#include "gdal_session.hpp"
#include "raster_grid.hpp"
#include "raster_overviews.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

constexpr int tile = 256;

/// Mean and spread of values that come in parts: pairwise update of Chan, Golub & LeVeque 1983,
/// "Algorithms for computing the sample variance", The American Statistician 37(3), from memory.
struct RunningStatistics {
  double least = std::numeric_limits<double>::infinity();
  double greatest = -std::numeric_limits<double>::infinity();
  double count = 0;
  double mean = 0;
  double squares = 0;  ///< sum of squared deviations from the mean

  void add(double value) {
    least = std::min(least, value);
    greatest = std::max(greatest, value);
    count += 1;
    const double deviation = value - mean;
    mean += deviation / count;
    squares += deviation * (value - mean);
  }
  void add(const RunningStatistics& other) {
    if (other.count == 0) return;
    least = std::min(least, other.least);
    greatest = std::max(greatest, other.greatest);
    const double total = count + other.count;
    const double deviation = other.mean - mean;
    squares += other.squares + deviation * deviation * count * other.count / total;
    mean += deviation * other.count / total;
    count = total;
  }
};

/// What GDAL asks while it copies: how far it is, and whether to go on.
struct Progress {
  const Work& work;
  double from_frac = 0;
  static int tell(double done, const char*, void* argument) {
    const auto& self = *static_cast<const Progress*>(argument);
    if (self.work.stop.stop_requested()) return FALSE;
    if (self.work.progress)
      self.work.progress(self.from_frac + (1 - self.from_frac) * std::clamp(done, 0.0, 1.0));
    return TRUE;
  }
};

fs::path hidden_beside(const fs::path& file, const std::string& purpose) {
  return file.parent_path() /
         fmt::format(".{}.{}.{}.tif", file.filename().string(), ::getpid(), purpose);
}

}  // namespace

struct GeotiffWriter::State {
  fs::path file;
  fs::path values_file;  ///< tiles as they come, removed at the end
  fs::path cog_file;     ///< renamed to `file` at the end
  Grid grid;
  GeotiffOptions options;
  DatasetHandle values;
  std::vector<RunningStatistics> statistics;

  ~State() {
    {
      GdalMessages messages;
      values.reset();
    }
    std::error_code ignored;
    for (const fs::path& left : {values_file, cog_file}) {
      fs::remove(left, ignored);
      fs::remove(fs::path(left.string() + ".aux.xml"), ignored);
    }
  }

  void create(const Crs& crs);
  void describe(const Crs& crs);
  void store_statistics();
  void copy_to_cog(const Work& work);
};

void GeotiffWriter::State::create(const Crs& crs) {
  GdalMessages messages;
  CPLStringList creation;
  creation.SetNameValue("TILED", "YES");
  creation.SetNameValue("BLOCKXSIZE", std::to_string(tile).c_str());
  creation.SetNameValue("BLOCKYSIZE", std::to_string(tile).c_str());
  creation.SetNameValue("BIGTIFF", "IF_SAFER");
  creation.SetNameValue("INTERLEAVE", "BAND");
  creation.SetNameValue("COMPRESS", "DEFLATE");  // the fastest level: less to write and to read
  creation.SetNameValue("ZLEVEL", "1");
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GTiff");
  const int bands = static_cast<int>(options.bands.size()) + 1;
  values.reset(driver->Create(values_file.c_str(), grid.columns, grid.rows, bands, GDT_Float32,
                              creation.List()));
  if (!values) throw not_written(file, messages.text());
  describe(crs);
  if (messages.failed()) throw not_written(file, messages.text());
}

void GeotiffWriter::State::describe(const Crs& crs) {
  std::array<double, 6> transform{grid.x_left, grid.cell_m, 0, grid.y_top, 0, -grid.cell_m};
  values->SetGeoTransform(transform.data());
  const OGRSpatialReference reference = reference_of(crs);
  if (crs.known()) values->SetSpatialRef(&reference);
  values->SetMetadataItem("AREA_OR_POINT", "Area");
  for (const auto& [key, value] : options.metadata)
    values->SetMetadataItem(key.c_str(), value.c_str());
  const int bands = values->GetRasterCount();
  for (int b = 1; b <= bands; ++b) {
    GDALRasterBand& band = *values->GetRasterBand(b);
    band.SetNoDataValue(std::numeric_limits<double>::quiet_NaN());
    if (b == bands) {
      band.SetDescription("reason");
      break;
    }
    const GeotiffBand& ours = options.bands[static_cast<std::size_t>(b - 1)];
    band.SetDescription(ours.name.c_str());
    if (!ours.unit.empty()) band.SetUnitType(ours.unit.c_str());
  }
}

void GeotiffWriter::State::store_statistics() {
  for (std::size_t b = 0; b < statistics.size(); ++b) {
    const RunningStatistics& s = statistics[b];
    if (s.count == 0) continue;
    values->GetRasterBand(static_cast<int>(b) + 1)
        ->SetStatistics(s.least, s.greatest, s.mean, std::sqrt(s.squares / s.count));
  }
}

void GeotiffWriter::State::copy_to_cog(const Work& work) {
  GdalMessages messages;
  CPLStringList creation;
  creation.SetNameValue("COMPRESS", "DEFLATE");
  creation.SetNameValue("PREDICTOR", "YES");
  creation.SetNameValue("OVERVIEW_PREDICTOR", "YES");
  creation.SetNameValue("BLOCKSIZE", std::to_string(tile).c_str());
  creation.SetNameValue("BIGTIFF", "IF_SAFER");
  creation.SetNameValue("NUM_THREADS", std::to_string(std::max(1, work.threads)).c_str());
  Progress progress{work, 0.3};
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("COG");
  DatasetHandle cog(driver->CreateCopy(cog_file.c_str(), values.get(), FALSE, creation.List(),
                                       &Progress::tell, &progress));
  const bool made = cog != nullptr;
  cog.reset();
  if (work.stop.stop_requested()) throw Interrupted();
  if (!made || messages.failed()) throw not_written(file, messages.text());
}

GeotiffWriter::GeotiffWriter(fs::path file, const Grid& grid, const Crs& crs,
                             const GeotiffOptions& options)
    : state_(std::make_unique<State>()) {
  state_->values_file = hidden_beside(file, "values");
  state_->cog_file = hidden_beside(file, "whole");
  state_->file = std::move(file);
  state_->grid = grid;
  state_->options = options;
  state_->statistics.resize(options.bands.size() + 1);
  state_->create(crs);
}

GeotiffWriter::~GeotiffWriter() = default;
GeotiffWriter::GeotiffWriter(GeotiffWriter&&) noexcept = default;

void GeotiffWriter::write(const Window& window, std::span<const Raster> parts) {
  if (window.empty()) return;
  GdalMessages messages;
  const auto put = [&](int band, const std::vector<float>& values) {
    RunningStatistics block;
    for (const float value : values)
      if (std::isfinite(value)) block.add(value);
    state_->statistics[static_cast<std::size_t>(band - 1)].add(block);
    // RasterIO takes a plain pointer also where it only reads.
    auto* data = const_cast<float*>(values.data());
    const CPLErr failed = state_->values->GetRasterBand(band)->RasterIO(
        GF_Write, window.column, window.row, window.columns, window.rows, data, window.columns,
        window.rows, GDT_Float32, 0, 0, nullptr);
    if (failed != CE_None || messages.failed()) throw not_written(state_->file, messages.text());
  };
  for (std::size_t b = 0; b < parts.size(); ++b) put(static_cast<int>(b) + 1, parts[b].values);
  std::vector<float> reasons(parts[0].reasons.size());
  std::transform(parts[0].reasons.begin(), parts[0].reasons.end(), reasons.begin(),
                 [](Reason reason) { return static_cast<float>(reason); });
  put(static_cast<int>(state_->options.bands.size()) + 1, reasons);
}

void GeotiffWriter::finish(const Work& work) {
  State& s = *state_;
  {
    GdalMessages messages;
    s.store_statistics();
    add_overviews(*s.values, tile, work, 0.3);
    s.values->FlushCache(false);
    if (messages.failed()) throw not_written(s.file, messages.text());
  }
  s.copy_to_cog(work);
  std::error_code failed;
  fs::rename(s.cog_file, s.file, failed);
  if (failed) throw not_written(s.file, failed.message());
  GdalMessages messages;
  s.values.reset();
  fs::remove(s.values_file, failed);
  if (work.progress) work.progress(1);
}

namespace {

/// A raster written by GeotiffWriter on its own grid.
class GeotiffReader : public RasterReader {
 public:
  GeotiffReader(DatasetHandle raster, const fs::path& file, const Grid& grid, int band)
      : raster_(std::move(raster)), file_(file), grid_(grid), band_(band) {}

  const Grid& grid() const override { return grid_; }

  Raster read(const Window& window) const override {
    const std::scoped_lock lock(mutex_);
    GdalMessages messages;
    Raster part(sub_grid(grid_, window));
    std::vector<float> reasons(part.values.size());
    const auto fill = [&](int band, std::vector<float>& values) {
      return raster_->GetRasterBand(band)->RasterIO(
                 GF_Read, window.column, window.row, window.columns, window.rows, values.data(),
                 window.columns, window.rows, GDT_Float32, 0, 0, nullptr) == CE_None;
    };
    if (!fill(band_, part.values) || !fill(raster_->GetRasterCount(), reasons))
      throw FileError("not_readable", file_.filename().string(),
                      "the raster cannot be read: " +
                          as_user_knows(messages.text(), file_, file_.filename().string()),
                      "Run the analysis again");
    for (std::size_t i = 0; i < reasons.size(); ++i) {
      const auto reason = static_cast<Reason>(static_cast<std::uint8_t>(reasons[i]));
      if (carries_value(reason)) {
        part.reasons[i] = reason;
      } else {
        part.clear(i, reason);
      }
    }
    return part;
  }

 private:
  DatasetHandle raster_;
  fs::path file_;
  Grid grid_;
  int band_;
  mutable std::mutex mutex_;
};

}  // namespace

std::unique_ptr<RasterReader> open_geotiff(const fs::path& file, int band) {
  const std::string name = file.filename().string();
  DatasetHandle raster = open_allowed({file, "", name}, GDAL_OF_RASTER, {"GTiff"}, "a GeoTIFF", {});
  std::array<double, 6> t{};
  const int bands = raster->GetRasterCount();
  const bool ours = bands >= 2 && raster->GetGeoTransform(t.data()) == CE_None && t[2] == 0 &&
                    t[4] == 0 && t[1] == -t[5] &&
                    std::string_view(raster->GetRasterBand(bands)->GetDescription()) == "reason";
  if (!ours)
    throw InputError(Doubt{"not_our_raster",
                           Severity::problem,
                           {name, "", 0, ""},
                           "the raster was not written by evendrip",
                           "",
                           "a GeoTIFF of an earlier result",
                           "Name a raster of a result folder"});
  if (band < 1 || band >= bands) throw std::invalid_argument("the raster has no such band");
  const Grid grid{t[0], t[3], t[1], raster->GetRasterXSize(), raster->GetRasterYSize()};
  return std::make_unique<GeotiffReader>(std::move(raster), file, grid, band);
}

void write_world_file(const fs::path& png, const Extent& extent, int width_px, int height_px,
                      const Crs& crs) {
  const double x_size = extent.width() / width_px;
  const double y_size = extent.height() / height_px;
  fs::path world = png;
  world.replace_extension(".pgw");
  write_text(world,
             fmt::format("{:.12f}\n{:.12f}\n{:.12f}\n{:.12f}\n{:.6f}\n{:.6f}\n", x_size, 0.0, 0.0,
                         -y_size, extent.x_min + x_size / 2, extent.y_max - y_size / 2));
  const OGRSpatialReference reference = reference_of(crs);
  const std::vector<int>& mapping = reference.GetDataAxisToSRSAxisMapping();
  const bool swapped = mapping.size() >= 2 && mapping[0] == 2;
  write_text(fs::path(png.string() + ".aux.xml"),
             fmt::format("<PAMDataset>\n  <SRS dataAxisToSRSAxisMapping=\"{}\">{}</SRS>\n"
                         "</PAMDataset>\n",
                         swapped ? "2,1" : "1,2", xml_escaped(crs.wkt)));
}

}  // namespace evendrip
