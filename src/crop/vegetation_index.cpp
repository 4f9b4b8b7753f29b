// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/vegetation_index.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstddef>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "band_scale.hpp"
#include "crop_mask.hpp"
#include "evendrip/io/raster_file.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "held.hpp"
#include "layer_doubt.hpp"
#include "length_words.hpp"

namespace evendrip {
namespace {

constexpr std::size_t cells_per_block = 1'000'000;
constexpr double telling_share = 0.1;  ///< of the cells, from which on a loss is a doubt

MultiPolygon zones_of(const Field& field) {
  MultiPolygon all;
  for (const Zone& zone : field.zones) all.insert(all.end(), zone.area.begin(), zone.area.end());
  return all;
}

bool is_index_of_bands(const CropSource& source) {
  return source.bands.near_infrared > 0;
}

/// The band that is set against the near infrared.
int visible_band(const CropSource& source) {
  return source.bands.red > 0 ? source.bands.red : source.bands.red_edge;
}

bool says_ndvi(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text.find("ndvi") != std::string::npos;
}

std::string name_of(const CropSource& source, const RasterInfo& info) {
  if (is_index_of_bands(source)) return source.bands.red > 0 ? "NDVI" : "red-edge index";
  const auto band = static_cast<std::size_t>(source.band - 1);
  if (source.kind == "biomass" && band < info.band_names.size() &&
      says_ndvi(info.band_names[band])) {
    return "NDVI";
  }
  return source.kind == "canopy_temperature" ? "canopy temperature" : source.kind;
}

/// Why a cell inside the zones has no value.
enum class Loss : std::uint8_t { none, no_source, edge, masked, bare };

/// The layer as it is read: one band, or two made into an index.
class LayerReader : public RasterReader {
 public:
  LayerReader(const Field& field, const CropSource& source, const Grid& grid, BandScale scale)
      : source_(source), grid_(grid), scale_(std::move(scale)) {
    const MultiPolygon zones = zones_of(field);
    const int first = is_index_of_bands(source) ? source.bands.near_infrared : source.band;
    first_ = open_raster_inside(source.file, first, grid, field.crs, zones);
    if (is_index_of_bands(source))
      second_ = open_raster_inside(source.file, visible_band(source), grid, field.crs, zones);
    if (source.mask) {
      const RasterInfo info = raster_info(source.file);
      mask_ = std::make_unique<CropMask>(field, source, grid,
                                         std::sqrt(info.pixel_x_m * info.pixel_y_m));
    }
  }

  const Grid& grid() const override { return grid_; }

  Raster read(const Window& window) const override {
    std::vector<Loss> losses;
    BandRanges ranges;
    return read(window, {}, losses, ranges);
  }

  /// With the reason of each loss, and the range of the bands over the cells that count (empty:
  /// none).
  Raster read(const Window& window, const std::vector<int>& zones, std::vector<Loss>& losses,
              BandRanges& ranges) const {
    Raster part = first_->read(window);
    const Raster second = second_ ? second_->read(window) : Raster();
    const std::vector<bool> masked = mask_ ? mask_->over(window) : std::vector<bool>();
    losses.assign(part.values.size(), Loss::none);
    for (std::size_t i = 0; i < part.values.size(); ++i) {
      if (!part.has_value(i) || (second_ && !second.has_value(i))) {
        losses[i] = Loss::no_source;
        if (part.has_value(i)) part.clear(i, second.reasons[i]);
        continue;
      }
      if (!masked.empty() && masked[i]) {
        lose(part, i, losses, Loss::masked);
        continue;
      }
      const double a = scale_.of(static_cast<double>(part.values[i]));
      const double b = second_ ? scale_.of(static_cast<double>(second.values[i])) : 0;
      if (!zones.empty() && zones[i] >= 0) {
        ranges.first.include(a);
        if (second_) ranges.second.include(b);
      }
      const double value = second_ ? normalised_difference(a, b) : a;
      if (!std::isfinite(value)) {
        lose(part, i, losses, Loss::no_source);
      } else if (source_.bare_below && value < *source_.bare_below) {
        lose(part, i, losses, Loss::bare);
      } else {
        part.set(i, value);
      }
    }
    return part;
  }

 private:
  static void lose(Raster& part, std::size_t i, std::vector<Loss>& losses, Loss loss) {
    part.clear(i, Reason::source_nodata);
    losses[i] = loss;
  }

  CropSource source_;
  Grid grid_;
  BandScale scale_;
  std::unique_ptr<RasterReader> first_;
  std::unique_ptr<RasterReader> second_;  ///< null for a ready band
  std::unique_ptr<CropMask> mask_;
};

struct Tally {
  double cells = 0;  ///< inside zones
  double with_value = 0;
  double edge = 0;
  double masked = 0;
  double bare = 0;
  double saturated = 0;
  BandRanges ranges;

  double share(double count) const { return cells > 0 ? count / cells : 0; }
};

void count(const Raster& part, const Raster& plain, const std::vector<int>& zones,
           const std::vector<Loss>& losses, Tally& tally) {
  for (std::size_t i = 0; i < zones.size(); ++i) {
    if (zones[i] < 0) continue;
    ++tally.cells;
    if (part.has_value(i)) {
      ++tally.with_value;
      if (static_cast<double>(part.values[i]) > ndvi_saturates_at) ++tally.saturated;
    } else if (losses[i] == Loss::masked) {
      ++tally.masked;
    } else if (losses[i] == Loss::bare) {
      ++tally.bare;
    } else if (plain.has_value(i)) {
      ++tally.edge;
    }
  }
}

Tally tally_of(const Field& field, const CropSource& source, const LayerReader& reader) {
  const Grid& grid = reader.grid();
  const int first = is_index_of_bands(source) ? source.bands.near_infrared : source.band;
  const auto plain = open_raster_on_grid(source.file, first, grid, field.crs);
  const auto columns = static_cast<std::size_t>(std::max(1, grid.columns));
  const auto rows = static_cast<int>(std::max(std::size_t{1}, cells_per_block / columns));
  Tally tally;
  std::vector<Loss> losses;
  for (const Window& window : row_blocks(grid, rows)) {
    const std::vector<int> zones = zones_of_cells(field, grid, window);
    const Raster part = reader.read(window, zones, losses, tally.ranges);
    count(part, plain->read(window), zones, losses, tally);
  }
  return tally;
}

std::string percent(double share) {
  return fmt::format("{:.1f} %", 100 * share);
}

void tell_losses(const Field& field, const CropSource& source, IndexLayer& layer) {
  const auto tell = [&](const char* code, double share, const std::string& text,
                        const std::string& remedy) {
    if (!(share > 0)) return;
    layer.doubts.push_back(
        about_layer(code, share > telling_share ? Severity::doubt : Severity::note, source,
                    percent(share) + " of the cells inside zones " + text, remedy));
  };
  tell("crop_masked", layer.masked_share, "lie under the mask and say nothing", "");
  tell("crop_bare", layer.bare_share,
       fmt::format("have an index below {:.3g}, bare soil, and say nothing",
                   source.bare_below.value_or(0)),
       "");
  tell("crop_edge_pixels", layer.edge_share,
       fmt::format("lie in pixels of {} that straddle the limit of the zones and say nothing",
                   length_words(field, layer.pixel_m)),
       "");
  if (layer.saturated_share > telling_share)
    layer.doubts.push_back(about_layer(
        "ndvi_saturated", Severity::doubt, source,
        fmt::format("in {} of the cells inside zones the NDVI is above {:.2f}, where the canopy is "
                    "closed and more or fewer leaves hardly change it: a deficit there may not "
                    "show",
                    percent(layer.saturated_share), ndvi_saturates_at),
        "Use a red-edge index, an earlier date, or the yield"));
}

std::string method_of(const Field& field, const CropSource& source, const IndexLayer& layer,
                      const BandScale& scale, double cell_m) {
  const std::string bands = is_index_of_bands(source)
                                ? fmt::format("{} of bands {} and {}", layer.name,
                                              source.bands.near_infrared, visible_band(source))
                                : fmt::format("band {}", source.band);
  std::string text = fmt::format(
      "{} of {} warped to cells of {} (area average of smaller pixels, bilinear between "
      "larger ones; pixels that straddle the limit of the zones left out)",
      bands, source.file.as_written, length_words(field, cell_m));
  if (is_index_of_bands(source)) text += "; the index is taken of the cell's mean bands";
  if (!scale.told.empty()) text += "; " + scale.told;
  if (source.mask) text += fmt::format("; without what {} masks", source.mask->as_written);
  if (source.bare_below)
    text += fmt::format("; without bare soil, below {:.3g}", *source.bare_below);
  return text;
}

void require_values(const CropSource& source, const Tally& tally) {
  if (tally.with_value > 0) return;
  std::string why = "no cell inside a zone has a value";
  if (tally.cells > 0 && tally.masked + tally.bare > 0)
    why += fmt::format(": {} lie under the mask, {} are bare soil",
                       percent(tally.share(tally.masked)), percent(tally.share(tally.bare)));
  throw InputError(about_layer("crop_without_values", Severity::problem, source, why,
                               "Check that the layer covers the field, its mask and bare_below"));
}

}  // namespace

double normalised_difference(double a, double b) {
  const double sum = a + b;
  return sum > 0 ? (a - b) / sum : std::numeric_limits<double>::quiet_NaN();
}

IndexLayer open_index(const Field& field, const CropSource& source, const Grid& grid,
                      const Work& work) {
  const RasterInfo info = raster_info(source.file);
  IndexLayer layer;
  const BandScale scale = scale_of_band(source, info, layer.doubts);
  auto reader = std::make_unique<LayerReader>(field, source, grid, scale);
  const Tally tally = tally_of(field, source, *reader);
  require_values(source, tally);
  judge_scale(source, info, tally.ranges, layer.doubts);
  layer.name = name_of(source, info);
  layer.unit = scale.unit;
  layer.pixel_m = std::sqrt(info.pixel_x_m * info.pixel_y_m);
  layer.masked_share = tally.share(tally.masked);
  layer.bare_share = tally.share(tally.bare);
  layer.edge_share = tally.share(tally.edge);
  if (layer.name == "NDVI") layer.saturated_share = tally.share(tally.saturated);
  layer.method_text = method_of(field, source, layer, scale, grid.cell_m);
  tell_losses(field, source, layer);
  Work one_thread = without_progress(work);
  one_thread.threads = 1;  // the source is read by one at a time
  layer.values = held(std::move(reader), one_thread);
  return layer;
}

}  // namespace evendrip
