// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/findings.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "evendrip/crop/zonal.hpp"
#include "evendrip/crs/outlines.hpp"
#include "evendrip/crs/overlay.hpp"

namespace evendrip {
namespace {

constexpr double square_metres_per_hectare = 10'000;
constexpr double least_default_area_m2 = 25;  // about what one wetted pit tells; common practice
constexpr double default_area_cells = 4;

double smallest_area_of(const Field& field, const Grid& grid) {
  if (field.analysis.smallest_area_m2 > 0) return field.analysis.smallest_area_m2;
  const double cell_m = grid.cell_m / field.scale_factor;
  return std::max(default_area_cells * cell_m * cell_m, least_default_area_m2);
}

/// Cells where the crop is low and the water is not known.
std::size_t crop_low_without_water(const Raster& relative, const Raster& crop,
                                   const Thresholds& thresholds) {
  std::size_t cells = 0;
  for (std::size_t i = 0; i < relative.values.size(); ++i) {
    if (relative.reasons[i] == Reason::outside_zones || relative.has_value(i)) continue;
    if (crop.has_value(i) && crop.values[i] < thresholds.crop_low_below) ++cells;
  }
  return cells;
}

struct Layers {
  const RasterReader& relative;
  const RasterReader& discharge_lph;
  const RasterReader* crop;
};

struct Patches {
  std::vector<JoinedPatch> list;  ///< of a class; weak laterals may run askew through the cells
  std::size_t unknown_cells = 0;
};

Patches patches_of(const Field& field, const Layers& layers, const Work& work) {
  Patches patches;
  int rows_counted = 0;  // polygonising may ask for the same rows twice
  const auto classes = [&](const Window& window) {
    const Raster relative = layers.relative.read(window);
    if (layers.crop == nullptr) return classify(relative, nullptr, field.thresholds);
    const Raster crop = layers.crop->read(window);
    if (window.row >= rows_counted) {
      patches.unknown_cells += crop_low_without_water(relative, crop, field.thresholds);
      rows_counted = window.row + window.rows;
    }
    return classify(relative, &crop, field.thresholds);
  };
  patches.list = joined_at_corners(polygonise(layers.relative.grid(), classes, work));
  return patches;
}

int zone_with_most_of(const Field& field, const MultiPolygon& outline) {
  const Extent extent = extent_of(outline);
  std::vector<int> candidates;
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    if (extent_of(field.zones[z].area).intersects(extent)) {
      candidates.push_back(static_cast<int>(z));
    }
  }
  int best = -1;
  double most_m2 = 0;
  for (const int z : candidates) {
    const MultiPolygon& zone = field.zones[static_cast<std::size_t>(z)].area;
    const double shared_m2 = area_m2(intersection_of(outline, zone));
    if (shared_m2 > most_m2) {
      most_m2 = shared_m2;
      best = z;
    }
  }
  return best;
}

double mean_under(const RasterReader& reader, const MultiPolygon& outline) {
  const CoverageStatistics statistics = statistics_under(reader, outline);
  return statistics.weight_cells > 0 ? statistics.mean : std::numeric_limits<double>::quiet_NaN();
}

Finding finding_from(const Field& field, const Layers& layers, const JoinedPatch& patch,
                     double ground_m2) {
  const MultiPolygon& raw = patch.outline;
  Finding finding;
  finding.kind = static_cast<FindingKind>(patch.patch_class);
  finding.zone = zone_with_most_of(field, raw);
  finding.area_ha = ground_m2 / square_metres_per_hectare;
  finding.mean_relative = mean_under(layers.relative, raw);
  finding.mean_discharge_lph = mean_under(layers.discharge_lph, raw);
  finding.mean_crop = layers.crop != nullptr ? mean_under(*layers.crop, raw)
                                             : std::numeric_limits<double>::quiet_NaN();
  finding.outline = raw;
  finding.label = label_point(finding.outline);
  return finding;
}

/// Urgent first, then large first, then from north to south and west to east.
void order_and_name(std::vector<Finding>& list) {
  std::stable_sort(list.begin(), list.end(), [](const Finding& a, const Finding& b) {
    return std::make_tuple(a.kind, -a.area_ha, -a.label.y, a.label.x) <
           std::make_tuple(b.kind, -b.area_ha, -b.label.y, b.label.x);
  });
  for (std::size_t i = 0; i < list.size(); ++i) list[i].id = fmt::format("A{}", i + 1);
}

/// Areas on the ground. The factor of the field serves where the answer is clear; the ellipsoid
/// decides where it is close or above.
std::vector<double> ground_m2_of(const Field& field, const std::vector<JoinedPatch>& patches,
                                 double smallest_m2) {
  std::vector<double> areas_m2;
  std::vector<std::size_t> measured;
  std::vector<MultiPolygon> shapes;
  for (std::size_t i = 0; i < patches.size(); ++i) {
    areas_m2.push_back(area_m2(patches[i].outline) / (field.scale_factor * field.scale_factor));
    if (areas_m2.back() < 0.9 * smallest_m2) continue;
    measured.push_back(i);
    shapes.push_back(patches[i].outline);
  }
  const std::vector<double> exact_m2 = ground_areas_m2(field.crs, shapes);
  for (std::size_t k = 0; k < measured.size(); ++k) areas_m2[measured[k]] = exact_m2[k];
  return areas_m2;
}

void add_doubts(Findings& findings, std::size_t unknown_cells, const Field& field,
                const Grid& grid) {
  if (findings.left_out > 0) {
    findings.doubts.push_back({"small_patches_left_out",
                               Severity::note,
                               {},
                               "",
                               "",
                               "",
                               "Set analysis.smallest_area to see smaller ones"});
    findings.doubts.back().text =
        fmt::format("{} patches smaller than {:.4g} m2 ({:.3g} ha together) are not findings",
                    findings.left_out, findings.smallest_area_m2, findings.left_out_ha);
  }
  if (unknown_cells > 0) {
    const double cell_m = grid.cell_m / field.scale_factor;
    const double area_ha =
        static_cast<double>(unknown_cells) * cell_m * cell_m / square_metres_per_hectare;
    findings.doubts.push_back({"crop_low_water_unknown",
                               Severity::doubt,
                               {},
                               "",
                               "",
                               "",
                               "Dig and measure there before a cause is named"});
    findings.doubts.back().text = fmt::format(
        "the crop is low on {:.3g} ha where the water is not known; they are no finding", area_ha);
  }
}

}  // namespace

std::string to_text(FindingKind kind) {
  switch (kind) {
    case FindingKind::both_low:
      return "water and crop low";
    case FindingKind::water_low:
      return "water low";
    case FindingKind::crop_low:
      return "crop low";
    case FindingKind::none:
      break;
  }
  return "nothing low";
}

std::string advice_for(FindingKind kind) {
  switch (kind) {
    case FindingKind::both_low:
      return "Repair first: the emitters give too little water and the crop shows it.";
    case FindingKind::water_low:
      return "Watch: the emitters give too little water, but no crop layer shows it; measure again "
             "before digging further.";
    case FindingKind::crop_low:
      return "Look elsewhere first: the crop is poor but the water mapped there is not low; check "
             "soil, pests, disease and fertility.";
    case FindingKind::none:
      break;
  }
  return "Nothing to do.";
}

std::vector<std::uint8_t> classify(const Raster& relative, const Raster* crop,
                                   const Thresholds& thresholds) {
  std::vector<std::uint8_t> classes(relative.values.size(), 0);
  for (std::size_t i = 0; i < classes.size(); ++i) {
    if (!relative.has_value(i)) continue;
    const bool water_low = relative.values[i] < thresholds.low_below;
    const bool crop_low =
        crop != nullptr && crop->has_value(i) && crop->values[i] < thresholds.crop_low_below;
    FindingKind kind = FindingKind::none;
    if (water_low) kind = crop_low ? FindingKind::both_low : FindingKind::water_low;
    if (!water_low && crop_low) kind = FindingKind::crop_low;
    classes[i] = static_cast<std::uint8_t>(kind);
  }
  return classes;
}

Findings find_low_places(const Field& field, const RasterReader& relative,
                         const RasterReader& discharge_lph, const RasterReader* crop,
                         const Work& work) {
  const Layers layers{relative, discharge_lph, crop};
  Findings findings;
  findings.smallest_area_m2 = smallest_area_of(field, relative.grid());
  const Patches patches = patches_of(field, layers, work);
  const std::vector<double> areas_m2 = ground_m2_of(field, patches.list, findings.smallest_area_m2);
  for (std::size_t i = 0; i < areas_m2.size(); ++i) {
    if (areas_m2[i] < findings.smallest_area_m2) {
      ++findings.left_out;
      findings.left_out_ha += areas_m2[i] / square_metres_per_hectare;
    } else {
      findings.list.push_back(finding_from(field, layers, patches.list[i], areas_m2[i]));
    }
  }
  order_and_name(findings.list);
  add_doubts(findings, patches.unknown_cells, field, relative.grid());
  return findings;
}

}  // namespace evendrip
