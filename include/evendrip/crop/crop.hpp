// SPDX-License-Identifier: Apache-2.0
// What the crop says: a biomass raster aligned with the analysis grid, or yield points gridded, as
// an index relative to the median of the field; statistics by zone and by lateral strip.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/coverage.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// A crop layer on the analysis grid.
struct CropLayer {
  std::string id;
  std::string kind;  ///< yield, biomass, canopy_temperature
  std::string date;
  std::string unit;                            ///< "t/ha", "" for an index
  std::shared_ptr<const RasterReader> values;  ///< in that unit
  double median = 0;                           ///< of the cells inside zones
  /// Value over median; canopy temperature turned (median over value), so that low is always bad.
  std::shared_ptr<const RasterReader> relative;
  std::string method_text;
  Doubts doubts;
};

/// Opens one layer of field.crops. Yield points: median-filtered of nothing; plain means of the
/// points within each cell, filled by inverse distance (8 nearest) within `reach` of three swaths
/// (12 m where unknown). Throws InputError with the place of every problem.
CropLayer open_crop(const Field& field, const CropSource& source, const Grid& grid,
                    const Work& work);

struct CropStatistics {
  std::string name;  ///< zone or lateral id
  int zone = -1;
  int lateral = -1;
  CoverageStatistics values;
  double relative_mean = 0;
};
std::vector<CropStatistics> crop_by_zone(const Field& field, const CropLayer& layer);
/// Strips of half the lateral spacing on both sides, cut to the zone.
std::vector<CropStatistics> crop_by_lateral(const Field& field, const CropLayer& layer,
                                            const Work& work);

}  // namespace evendrip
