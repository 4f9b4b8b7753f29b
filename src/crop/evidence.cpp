// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/evidence.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/io/raster_file.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "layer_doubt.hpp"
#include "length_words.hpp"
#include "median_above_zero.hpp"
#include "smallest_fault.hpp"

namespace evendrip {
namespace {

constexpr double grain_mixing_s = 2;
constexpr double mixings_apart = 3;
constexpr double usual_speed_m_s = 1.5;      ///< common practice, no source
constexpr double receiver_accuracy_m = 0.5;  ///< likewise
constexpr double sensor_blur_pixels = 0.3;
constexpr double position_pixels = 0.25;
constexpr double resampling_variance_pixels = 1.0 / 6;
constexpr double most_pixels = 4e6;
constexpr std::size_t enough_differences = 1'000'000;

CropEvidence begun(const CropSource& source, std::string unit) {
  CropEvidence evidence;
  evidence.id = source.id;
  evidence.kind = source.kind;
  evidence.date = source.date;
  evidence.days_since_water = source.days_since_water;
  evidence.unit = std::move(unit);
  return evidence;
}

double ground_area_m2(const Field& field) {
  double area = 0;
  for (const Zone& zone : field.zones) area += area_m2(zone.area);
  return area / (field.scale_factor * field.scale_factor);
}

template <typename Of>
double median_over(const std::vector<EvidenceDatum>& data, Of of) {
  std::vector<double> values;
  values.reserve(data.size());
  for (const EvidenceDatum& datum : data) values.push_back(of(datum));
  return median_in_place(values);
}

void finish(double error, CropEvidence& evidence) {
  for (EvidenceDatum& datum : evidence.data) datum.error = error;
  evidence.median = median_over(evidence.data, [](const auto& d) { return d.value; });
  if (evidence.median > 0) evidence.relative_error = error / evidence.median;
}

/// NaN and what is not above 0: the other.
double known_or(double value, double other) {
  return value > 0 ? value : other;
}

/// Second differences within passes at steps of `apart` records.
double record_error(const HarvestLog& log, const CleanedLog& cleaned, std::size_t apart) {
  std::vector<double> differences;
  const auto kept = [&](std::size_t i) { return cleaned.step[i] == SetAside::kept; };
  for (std::size_t i = apart; i + apart < log.size(); ++i) {
    const std::size_t before = i - apart;
    const std::size_t after = i + apart;
    if (!kept(before) || !kept(i) || !kept(after)) continue;
    if (cleaned.pass[before] != cleaned.pass[i] || cleaned.pass[i] != cleaned.pass[after]) continue;
    differences.push_back(cleaned.yield_t_ha[before] - 2 * cleaned.yield_t_ha[i] +
                          cleaned.yield_t_ha[after]);
  }
  return sd_from_second_differences(differences);
}

/// Box as long as has the variance of travel and of mixing together.
double length_seen_m(double travelled_m, double speed_m_s) {
  const double mixed_m = grain_mixing_s * speed_m_s;
  return std::sqrt(travelled_m * travelled_m + 12 * mixed_m * mixed_m);
}

/// Grid of the raster's own pixels over the field; or, where they lie askew, of as large cells.
struct PixelGrid {
  Grid grid;
  bool own = false;
  int joined = 1;  ///< pixels along a side
};
PixelGrid pixel_grid(const Field& field, const RasterInfo& info, double pixel_m) {
  const Extent extent = field.extent();
  const double wide = info.extent.width() / std::max(1, info.columns);
  const double high = info.extent.height() / std::max(1, info.rows);
  PixelGrid pixels;
  pixels.own = same_crs(info.crs, field.crs) && std::abs(wide - high) < 1e-6 * wide;
  double cell = pixels.own ? wide : pixel_m * field.scale_factor;
  const double count = extent.width() / cell * (extent.height() / cell);
  if (count > most_pixels)
    pixels.joined = static_cast<int>(std::ceil(std::sqrt(count / most_pixels)));
  cell *= pixels.joined;
  if (!pixels.own) {
    pixels.grid = grid_over(extent, cell);
    return pixels;
  }
  const double left = std::floor((extent.x_min - info.extent.x_min) / cell);
  const double top = std::floor((info.extent.y_max - extent.y_max) / cell);
  Grid& grid = pixels.grid;
  grid = {info.extent.x_min + left * cell, info.extent.y_max - top * cell, cell, 0, 0};
  grid.columns = static_cast<int>(std::ceil((extent.x_max - grid.x_left) / cell));
  grid.rows = static_cast<int>(std::ceil((grid.y_top - extent.y_min) / cell));
  return pixels;
}

double pixel_error(const Raster& raster) {
  std::vector<double> differences;
  const auto value = [&](int row, int column) {
    return static_cast<double>(raster.values[raster.grid.index(row, column)]);
  };
  // NaN where one has no value.
  const auto add = [&](double difference) {
    if (std::isfinite(difference)) differences.push_back(difference);
  };
  const auto stride = static_cast<int>(raster.grid.cells() / enough_differences + 1);
  for (int row = 1; row + 1 < raster.grid.rows; ++row) {
    for (int column = 1 + row % stride; column + 1 < raster.grid.columns; column += stride) {
      add(value(row, column - 1) - 2 * value(row, column) + value(row, column + 1));
      add(value(row - 1, column) - 2 * value(row, column) + value(row + 1, column));
    }
  }
  return sd_from_second_differences(differences);
}

double pixel_blur_m(const CropSource& source, const PixelGrid& pixels, double pixel_m) {
  const double sensor = source.blur_m.value_or(sensor_blur_pixels * pixel_m);
  const double position = source.position_accuracy_m.value_or(position_pixels * pixel_m);
  const bool resampled = !pixels.own && pixels.joined == 1;
  const double variance = resampled ? resampling_variance_pixels * pixel_m * pixel_m : 0;
  return std::sqrt(sensor * sensor + position * position + variance);
}

}  // namespace

CropEvidence part_of(const CropEvidence& layer,
                     const std::function<bool(const EvidenceDatum&)>& keep) {
  CropEvidence part{static_cast<const EvidenceLayer&>(layer), {}};
  std::copy_if(layer.data.begin(), layer.data.end(), std::back_inserter(part.data), keep);
  return part;
}

CropEvidence evidence_of(const Field& field, const CropSource& source, const HarvestLog& log,
                         const CleanedLog& cleaned) {
  CropEvidence evidence = begun(source, "t/ha");
  evidence.passes = true;
  const double blur = std::hypot(source.blur_m.value_or(0),
                                 source.position_accuracy_m.value_or(receiver_accuracy_m));
  const double usual_width =
      known_or(median_above_zero(cleaned.cut_width_m), median_above_zero(log.swath_m));
  const double usual_travel = median_above_zero(log.distance_m);
  const double usual_duration = known_or(median_above_zero(log.duration_s), 1);
  evidence.data.reserve(cleaned.kept());
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (cleaned.step[i] != SetAside::kept || !std::isfinite(cleaned.yield_t_ha[i])) continue;
    const double duration = known_or(log.duration_s[i], usual_duration);
    const double travelled =
        known_or(log.distance_m[i], known_or(usual_travel, usual_speed_m_s * duration));
    EvidenceDatum datum;
    datum.place = log.places[i];
    datum.value = cleaned.yield_t_ha[i];
    datum.along_m = static_cast<float>(length_seen_m(travelled, travelled / duration));
    datum.across_m = static_cast<float>(known_or(cleaned.cut_width_m[i], usual_width));
    datum.blur_m = static_cast<float>(blur);
    datum.heading_deg =
        static_cast<float>(std::isfinite(cleaned.heading_deg[i]) ? cleaned.heading_deg[i] : 0);
    evidence.data.push_back(datum);
  }
  const auto apart = static_cast<std::size_t>(
      std::max(1.0, std::ceil(mixings_apart * grain_mixing_s / usual_duration)));
  finish(record_error(log, cleaned, apart), evidence);
  const auto& data = evidence.data;
  evidence.typical = {
      median_over(data, [](const auto& d) { return double{d.along_m}; }),
      median_over(data, [](const auto& d) { return double{d.across_m}; }), blur,
      // passes are driven both ways: the median of what is the same for both
      median_over(data, [](const auto& d) { return std::fmod(double{d.heading_deg} + 360, 180); })};
  if (!(usual_width > 0))
    evidence.doubts.push_back(about_layer("crop_width_not_known", Severity::doubt, source,
                                          "the log has no swath: how many laterals a record spans "
                                          "is not known",
                                          "Add swath_m"));
  tell_smallest_fault(
      field, fmt::format("A record of a cut of {}", length_words(field, evidence.typical.across_m)),
      static_cast<double>(data.size()) / std::max(1e-9, ground_area_m2(field)), evidence);
  return evidence;
}

CropEvidence evidence_of(const Field& field, const CropSource& source, const IndexLayer& layer,
                         const Work& work) {
  CropEvidence evidence = begun(source, layer.unit);
  const PixelGrid pixels = pixel_grid(field, raster_info(source.file), layer.pixel_m);
  const double pixel_m = layer.pixel_m * pixels.joined;
  const double blur = pixel_blur_m(source, pixels, layer.pixel_m);
  const Grid& grid = pixels.grid;
  const Window whole{0, 0, grid.rows, grid.columns};
  const Raster raster = open_index(field, source, grid, work).values->read(whole);
  const std::vector<int> zones = zones_of_cells(field, grid, whole);
  std::size_t i = 0;
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column, ++i) {
      if (zones[i] < 0 || !raster.has_value(i)) continue;
      const auto side = static_cast<float>(pixel_m);
      EvidenceDatum datum;
      datum.place = grid.centre(row, column);
      datum.value = static_cast<double>(raster.values[i]);
      datum.along_m = datum.across_m = side;
      datum.blur_m = static_cast<float>(blur);
      evidence.data.push_back(datum);
    }
  }
  finish(pixel_error(raster), evidence);
  evidence.typical = {pixel_m, pixel_m, blur, 0};
  tell_smallest_fault(field, fmt::format("A pixel of {}", length_words(field, pixel_m)),
                      1 / (pixel_m * pixel_m), evidence);
  return evidence;
}

}  // namespace evendrip
