// SPDX-License-Identifier: Apache-2.0
// What is wrong and where: places where water is low, where the crop is low, and where both are.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/crop/crop.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// Order of urgency. The numbers are the classes of the findings raster.
enum class FindingKind {
  none = 0,
  both_low = 1,   ///< water low and crop low: repair first
  water_low = 2,  ///< water low, crop holding (or no crop layer): watch, measure again
  crop_low = 3    ///< crop low, water fine: look for causes that are not water
};
std::string to_text(FindingKind kind);     ///< "water and crop low"
std::string advice_for(FindingKind kind);  ///< one plain sentence: what to do first

struct Finding {
  std::string id;  ///< "A1", "A2" ... in order of urgency and area
  FindingKind kind = FindingKind::none;
  int zone = -1;  ///< that holds most of it
  MultiPolygon outline;
  double area_ha = 0;        ///< true on the ground
  double mean_relative = 0;  ///< relative discharge, NaN if unknown
  double mean_discharge_lph = 0;
  double mean_crop = 0;  ///< relative crop index, NaN without a crop layer
  Point label;           ///< inside the outline
};

struct Findings {
  std::vector<Finding> list;
  double smallest_area_m2 = 0;  ///< smaller patches were left out
  int left_out = 0;
  double left_out_ha = 0;
  Doubts doubts;
};

/// Class of each cell of a window, from rasters of the same window. A cell whose discharge is not
/// known has class none: a low crop alone does not say that the water is fine.
std::vector<std::uint8_t> classify(const Raster& relative, const Raster* crop,
                                   const Thresholds& thresholds);

/// `relative`, `discharge` and (if given) `crop` are on the same grid. Reads by blocks.
Findings find_low_places(const Field& field, const RasterReader& relative,
                         const RasterReader& discharge_lph, const RasterReader* crop,
                         const Work& work);

}  // namespace evendrip
