// SPDX-License-Identifier: Apache-2.0
// Crop values at points: a yield file, or points of a biomass index or of canopy temperature.
//
// Tables name the place by lat + lon (WGS 84) or x + y (in the CRS that the field states) and the
// value by biomass (a bare number) or canopy_temperature_<unit>. Yields come from what
// crop/harvest_log.hpp reads, at CropSource::moisture_basis_frac, 0 for dry matter.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

struct CropPoints {
  std::vector<Point> places;   ///< field CRS, m
  std::vector<double> values;  ///< in `unit`
  std::string unit;            ///< "t/ha", "C", "" for an index
  double swath_m = 0;          ///< median of the swaths, 0 if unknown
  std::size_t set_aside = 0;   ///< rows without a value or without harvested area
  std::string method_text;     ///< how the values came about, one sentence
  Doubts doubts;
};

/// True if the file is read as points: a table, a layer of a vector driver, or task data.
bool is_point_file(const CropSource& source);

/// Throws InputError listing every bad value with its row: text in numbers, places outside the
/// range of latitudes, negative yields, moisture beyond 0-100 %; missing columns.
CropPoints read_crop_points(const Field& field, const CropSource& source);

}  // namespace evendrip
