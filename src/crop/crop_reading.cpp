// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/crop_reading.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "evendrip/crop/crop_points.hpp"
#include "evendrip/crop/point_surface.hpp"
#include "held.hpp"
#include "layer_doubt.hpp"
#include "length_words.hpp"
#include "median_above_zero.hpp"

namespace evendrip {
namespace {

constexpr double reach_without_swath_m = 12;

/// The index of the values that another reader gives.
class IndexReader : public RasterReader {
 public:
  IndexReader(std::shared_ptr<const RasterReader> values, double median, CropSense sense)
      : values_(std::move(values)), median_(median), sense_(sense) {}

  const Grid& grid() const override { return values_->grid(); }

  Raster read(const Window& window) const override {
    return crop_index(values_->read(window), median_, sense_);
  }

 private:
  std::shared_ptr<const RasterReader> values_;
  double median_;
  CropSense sense_;
};

void append(Doubts& all, const Doubts& more) {
  all.insert(all.end(), more.begin(), more.end());
}

void require_inside(const CropSource& source, const std::vector<Point>& places,
                    const Extent& reached) {
  const bool any =
      std::any_of(places.begin(), places.end(), [&](Point p) { return reached.contains(p); });
  if (any) return;
  throw InputError(
      about_layer("crop_without_overlap", Severity::problem, source,
                  fmt::format("none of the {} points lies in the field", places.size()),
                  "Check the order of lat and lon and the CRS of the points"));
}

/// Cells that a zone touches.
std::vector<std::uint8_t> cells_of_zones(const Field& field, const Grid& grid) {
  std::vector<std::uint8_t> wanted(grid.cells(), 0);
  for (const Zone& zone : field.zones) {
    const Coverage coverage = coverage_of(grid, zone.area);
    std::size_t k = 0;
    for (int r = 0; r < coverage.window.rows; ++r) {
      for (int c = 0; c < coverage.window.columns; ++c, ++k) {
        if (coverage.fraction[k] > 0) {
          wanted[grid.index(coverage.window.row + r, coverage.window.column + c)] = 1;
        }
      }
    }
  }
  return wanted;
}

/// The step that set most records aside, with its reason.
std::string main_step(const CleanedLog& cleaned) {
  const auto most =
      std::max_element(cleaned.steps.begin(), cleaned.steps.end(),
                       [](const auto& a, const auto& b) { return a.records < b.records; });
  if (most == cleaned.steps.end() || most->records == 0) return "";
  std::string told = most->told.substr(0, most->told.find(". "));
  if (told.ends_with('.')) told.pop_back();
  return fmt::format("; most by the step \"{}\": {}", to_text(most->step), told);
}

/// That cleaning left no record, with what was doubtful about the log: it may be why.
Doubts nothing_left(const CropSource& source, const HarvestLog& log, const CleanedLog& cleaned) {
  Doubts problems = {about_layer(
      "crop_without_values", Severity::problem, source,
      fmt::format("cleaning left none of the {} records{}", log.size(), main_step(cleaned)),
      "Look at the units of the log, and at the thresholds under [[crop]] cleaning")};
  for (Doubt doubt : log.doubts) {
    if (doubt.severity == Severity::note) continue;
    doubt.severity = Severity::problem;
    problems.push_back(std::move(doubt));
  }
  return problems;
}

YieldMap map_kept(const Field& field, const CropSource& source, const MappedHarvest& harvest,
                  const Grid& grid, const Work& work) {
  std::vector<Point> places;
  std::vector<double> yields;
  for (std::size_t i = 0; i < harvest.log.size(); ++i) {
    if (harvest.cleaned.step[i] != SetAside::kept) continue;
    places.push_back(harvest.log.places[i]);
    yields.push_back(harvest.cleaned.yield_t_ha[i]);
  }
  if (places.empty()) throw InputError(nothing_left(source, harvest.log, harvest.cleaned));
  YieldMapOptions options;
  options.units = field.report_units;
  options.swath_m = median_above_zero(harvest.log.swath_m) * field.scale_factor;
  return map_yield(places, yields, grid, cells_of_zones(field, grid), options, work);
}

MappedHarvest open_harvest(const Field& field, const CropSource& source, const Grid& grid,
                           const Work& work, CropLayer& layer) {
  MappedHarvest harvest;
  harvest.log = read_harvest_log(field, source);
  require_inside(source, harvest.log.places, grid.extent().grown(grid.cell_m));
  harvest.cleaned = clean(field, harvest.log, source.cleaning, without_progress(work));
  harvest.map = map_kept(field, source, harvest, grid, work);
  append(layer.doubts, harvest.log.doubts);
  append(layer.doubts, harvest.cleaned.doubts);
  layer.unit = "t/ha";
  layer.method_text = fmt::format("{}. {} Map: {}", harvest.log.method_text,
                                  harvest.cleaned.summary, harvest.map.method_text);
  layer.values = reader_of(harvest.map.yield);
  return harvest;
}

void open_points(const Field& field, const CropSource& source, const Grid& grid, const Work& work,
                 CropLayer& layer) {
  CropPoints points = read_crop_points(field, source);
  layer.doubts = std::move(points.doubts);
  layer.unit = points.unit;
  layer.method_text = fmt::format(
      "{}; mean of the points of each cell of {}; cells without points from the 8 nearest "
      "within {} by inverse squared distance",
      points.method_text, length_words(field, grid.cell_m / field.scale_factor),
      length_words(field, reach_without_swath_m));
  const double grid_reach_m = reach_without_swath_m * field.scale_factor;
  require_inside(source, points.places, grid.extent().grown(grid_reach_m));
  layer.values = held(point_surface(points.places, points.values, grid, grid_reach_m), work);
}

/// The share of the cells inside zones whose loss is already told.
double open_raster(const Field& field, const CropSource& source, const Grid& grid, const Work& work,
                   CropReading& reading) {
  reading.index = open_index(field, source, grid, work);
  const IndexLayer& index = *reading.index;
  CropLayer& layer = reading.layer;
  layer.unit = index.unit;
  layer.values = index.values;
  layer.method_text = index.method_text;
  layer.doubts = index.doubts;
  return index.edge_share + index.masked_share + index.bare_share;
}

void judge_cells(const CropSource& source, const ZoneCells& cells, double told_share,
                 CropLayer& layer) {
  constexpr double least_share = 5e-4;  // 0.1 % as told
  if (cells.cells == 0) {
    throw InputError(about_layer("crop_without_values", Severity::problem, source,
                                 "no cell inside a zone has a value",
                                 "Check that the layer covers the field"));
  }
  if (!(cells.median > 0)) {
    throw InputError(
        about_layer("crop_median_not_positive", Severity::problem, source,
                    fmt::format("the median inside the zones is {:.4g}; the index is value over "
                                "median, which needs a median above 0",
                                cells.median),
                    "Use a layer on a scale that starts at 0"));
  }
  const double share =
      static_cast<double>(cells.missing) / static_cast<double>(cells.cells + cells.missing) -
      told_share;
  if (share < least_share) return;
  layer.doubts.push_back(about_layer(
      "crop_has_gaps", Severity::note, source,
      fmt::format("{:.1f} % of the cells inside zones have no value in this layer", 100 * share),
      ""));
}

}  // namespace

bool is_harvest_log(const CropSource& source) {
  return source.kind == "yield" && is_point_file(source);
}

CropReading read_crop(const Field& field, const CropSource& source, const Grid& grid,
                      const Work& work) {
  CropReading reading;
  CropLayer& layer = reading.layer;
  layer.id = source.id;
  layer.kind = source.kind;
  layer.date = source.date;
  double told_share = 0;
  if (is_harvest_log(source)) {
    reading.harvest = open_harvest(field, source, grid, work, layer);
  } else if (is_point_file(source)) {
    open_points(field, source, grid, work, layer);
  } else {
    told_share = open_raster(field, source, grid, work, reading);
  }
  const ZoneCells cells = median_inside_zones(field, *layer.values);
  judge_cells(source, cells, told_share, layer);
  layer.median = cells.median;
  const bool turned = source.kind == "canopy_temperature";
  layer.sense = turned ? CropSense::high_is_bad : CropSense::low_is_bad;
  layer.method_text += turned ? "; index: median over value" : "; index: value over median";
  layer.relative = std::make_shared<IndexReader>(layer.values, layer.median, layer.sense);
  return reading;
}

CropLayer open_crop(const Field& field, const CropSource& source, const Grid& grid,
                    const Work& work) {
  return read_crop(field, source, grid, work).layer;
}

std::optional<CropEvidence> evidence_of(const Field& field, const CropSource& source,
                                        const CropReading& reading, const Work& work) {
  if (reading.harvest)
    return evidence_of(field, source, reading.harvest->log, reading.harvest->cleaned);
  if (reading.index) return evidence_of(field, source, *reading.index, work);
  return std::nullopt;
}

}  // namespace evendrip
