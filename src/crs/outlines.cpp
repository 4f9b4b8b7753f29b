// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crs/outlines.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <exception>
#include <limits>
#include <map>
#include <memory>
#include <numeric>
#include <tuple>
#include <utility>

#include <fmt/format.h>
#include <gdal_alg.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/overlay.hpp"
#include "quiet.hpp"

namespace evendrip {
namespace {

/// Fills a block of full rows; the storage holds window.cells() cells of the band's type.
using FillRows = std::function<void(const Window&, void*)>;

/// A band whose rows are made when they are asked for, so that no raster is held.
class GeneratedBand final : public GDALRasterBand {
 public:
  GeneratedBand(GDALDataset* dataset, const Grid& grid, GDALDataType type, FillRows fill)
      : fill_(std::move(fill)) {
    constexpr int cells_per_block = 1 << 18;
    poDS = dataset;
    nBand = 1;
    eDataType = type;
    nRasterXSize = grid.columns;
    nRasterYSize = grid.rows;
    nBlockXSize = grid.columns;
    nBlockYSize = std::clamp(cells_per_block / grid.columns, 1, std::min(256, grid.rows));
  }
  const std::exception_ptr& failure() const { return failure_; }

 protected:
  CPLErr IReadBlock(int, int block, void* storage) override {
    const int first = block * nBlockYSize;
    const int rows = std::min(nBlockYSize, nRasterYSize - first);
    try {
      fill_(Window{first, 0, rows, nRasterXSize}, storage);
      return CE_None;
    } catch (...) {
      failure_ = std::current_exception();  // must not pass through GDAL's C code
      return CE_Failure;
    }
  }

 private:
  FillRows fill_;
  std::exception_ptr failure_;
};

class GeneratedDataset final : public GDALDataset {
 public:
  GeneratedDataset(const Grid& grid, GDALDataType type, FillRows fill) : grid_(grid) {
    nRasterXSize = grid.columns;
    nRasterYSize = grid.rows;
    auto band = std::make_unique<GeneratedBand>(this, grid, type, std::move(fill));
    band_ = band.get();
    SetBand(1, band.release());
  }
  CPLErr GetGeoTransform(double* transform) override {
    const std::array<double, 6> values{grid_.x_left, grid_.cell_m, 0, grid_.y_top, 0,
                                       -grid_.cell_m};
    std::copy(values.begin(), values.end(), transform);
    return CE_None;
  }
  GeneratedBand& band() { return *band_; }

 private:
  Grid grid_;
  GeneratedBand* band_ = nullptr;
};

/// A layer that hands each feature on instead of keeping it.
class CollectingLayer final : public OGRLayer {
 public:
  CollectingLayer(const char* field, OGRFieldType type, std::function<void(OGRFeature&)> take)
      : definition_(new OGRFeatureDefn("outlines")), take_(std::move(take)) {
    definition_->Reference();
    OGRFieldDefn column(field, type);
    definition_->AddFieldDefn(&column);
  }
  ~CollectingLayer() override { definition_->Release(); }
  void ResetReading() override {}
  OGRFeature* GetNextFeature() override { return nullptr; }
  OGRFeatureDefn* GetLayerDefn() override { return definition_; }
  int TestCapability(const char* capability) override {
    return std::strcmp(capability, OLCSequentialWrite) == 0 ? TRUE : FALSE;
  }

 protected:
  OGRErr ICreateFeature(OGRFeature* feature) override {
    take_(*feature);
    return OGRERR_NONE;
  }

 private:
  OGRFeatureDefn* definition_;
  std::function<void(OGRFeature&)> take_;
};

Ring ring_of(const OGRLinearRing& ring) {
  Ring out;
  for (int i = 0; i + 1 < ring.getNumPoints(); ++i) out.push_back({ring.getX(i), ring.getY(i)});
  return out;
}

Polygon polygon_of(const OGRPolygon& polygon) {
  Polygon out{ring_of(*polygon.getExteriorRing()), {}};
  for (int i = 0; i < polygon.getNumInteriorRings(); ++i) {
    out.holes.push_back(ring_of(*polygon.getInteriorRing(i)));
  }
  return out;
}

int report_progress(double done, const char*, void* data) {
  const Work& work = *static_cast<const Work*>(data);
  if (work.progress) work.progress(done);
  return work.stop.stop_requested() ? FALSE : TRUE;
}

void throw_failure(const std::exception_ptr& failure) {
  if (failure) std::rethrow_exception(failure);
  throw FileError("outlines_failed", "",
                  "outlines could not be drawn from a raster: " + QuietGdal::last_message());
}

/// Outlines that touch themselves at a corner are split into ring and hole.
std::vector<Patch> with_valid_outlines(std::vector<Patch> patches) {
  std::vector<Patch> valid;
  valid.reserve(patches.size());
  for (Patch& patch : patches) {
    for (Polygon& part : made_valid({std::move(patch.outline)})) {
      valid.push_back({patch.patch_class, std::move(part)});
    }
  }
  return valid;
}

}  // namespace

std::vector<Patch> polygonise(
    const Grid& grid, const std::function<std::vector<std::uint8_t>(const Window&)>& class_of_rows,
    const Work& work) {
  if (grid.rows < 1 || grid.columns < 1) return {};
  const QuietGdal quiet;
  GeneratedDataset dataset(grid, GDT_Byte, [&class_of_rows](const Window& window, void* storage) {
    const std::vector<std::uint8_t> classes = class_of_rows(window);
    std::memcpy(storage, classes.data(), std::min(classes.size(), window.cells()));
  });
  std::vector<Patch> patches;
  CollectingLayer layer("class", OFTInteger, [&patches](OGRFeature& feature) {
    const OGRGeometry* geometry = feature.GetGeometryRef();
    if (geometry == nullptr || wkbFlatten(geometry->getGeometryType()) != wkbPolygon) return;
    patches.push_back({feature.GetFieldAsInteger(0), polygon_of(*geometry->toPolygon())});
  });
  Work progress = work;
  // The band masks itself: class 0 is left out.
  const CPLErr error = GDALPolygonize(&dataset.band(), &dataset.band(), OGRLayer::ToHandle(&layer),
                                      0, nullptr, report_progress, &progress);
  if (work.stop.stop_requested()) throw Interrupted();
  if (error != CE_None || dataset.band().failure()) throw_failure(dataset.band().failure());
  return with_valid_outlines(std::move(patches));
}

std::vector<JoinedPatch> joined_at_corners(std::vector<Patch> patches) {
  std::vector<std::size_t> first(patches.size());
  std::iota(first.begin(), first.end(), std::size_t{0});
  const auto first_of = [&first](std::size_t i) {
    while (first[i] != i) i = first[i] = first[first[i]];
    return i;
  };
  // Where cells touch at a corner the outlines of both turn: there each has a point of its ring.
  std::map<std::tuple<int, double, double>, std::size_t> corners;
  const auto join_along = [&](const Line& ring, std::size_t i) {
    for (const Point& p : ring) {
      const auto [there, is_new] = corners.try_emplace({patches[i].patch_class, p.x, p.y}, i);
      if (is_new) continue;
      const std::size_t a = first_of(there->second);
      const std::size_t b = first_of(i);
      first[std::max(a, b)] = std::min(a, b);
    }
  };
  for (std::size_t i = 0; i < patches.size(); ++i) {
    join_along(patches[i].outline.outer, i);
    for (const Line& hole : patches[i].outline.holes) join_along(hole, i);
  }
  std::vector<JoinedPatch> joined;
  std::vector<std::size_t> place(patches.size());
  for (std::size_t i = 0; i < patches.size(); ++i) {
    const std::size_t group = first_of(i);
    if (group == i) {
      place[i] = joined.size();
      joined.push_back({patches[i].patch_class, {}});
    }
    joined[place[group]].outline.push_back(std::move(patches[i].outline));
  }
  return joined;
}

std::vector<Isoline> isolines(const Raster& raster, const std::vector<double>& levels) {
  std::vector<double> sorted;
  std::copy_if(levels.begin(), levels.end(), std::back_inserter(sorted),
               [](double level) { return std::isfinite(level); });
  std::sort(sorted.begin(), sorted.end());
  sorted.erase(std::unique(sorted.begin(), sorted.end()), sorted.end());
  if (sorted.empty() || raster.grid.cells() == 0) return {};
  const QuietGdal quiet;
  GeneratedDataset dataset(
      raster.grid, GDT_Float64, [&raster](const Window& window, void* storage) {
        auto* values = static_cast<double*>(storage);
        const std::size_t start = raster.grid.index(window.row, 0);
        for (std::size_t i = 0; i < window.cells(); ++i) {
          values[i] = raster.has_value(start + i) ? static_cast<double>(raster.values[start + i])
                                                  : std::numeric_limits<double>::quiet_NaN();
        }
      });
  std::vector<Isoline> lines;
  CollectingLayer layer("level", OFTReal, [&](OGRFeature& feature) {
    const OGRGeometry* geometry = feature.GetGeometryRef();
    if (geometry == nullptr || wkbFlatten(geometry->getGeometryType()) != wkbLineString) return;
    Isoline isoline{feature.GetFieldAsDouble(0), {}};
    const OGRLineString& line = *geometry->toLineString();
    for (int i = 0; i < line.getNumPoints(); ++i) {
      isoline.line.push_back({line.getX(i), line.getY(i)});
    }
    if (isoline.line.size() > 1) lines.push_back(std::move(isoline));
  });
  const std::string fixed = fmt::format("FIXED_LEVELS={}", fmt::join(sorted, ","));
  const std::array<const char*, 3> options{fixed.c_str(), "ELEV_FIELD=0", nullptr};
  const CPLErr error = GDALContourGenerateEx(&dataset.band(), OGRLayer::ToHandle(&layer),
                                             const_cast<char**>(options.data()), nullptr, nullptr);
  if (error != CE_None) throw_failure(nullptr);
  return lines;
}

}  // namespace evendrip
