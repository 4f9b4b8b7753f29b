// SPDX-License-Identifier: Apache-2.0
// What the crop says: a biomass raster aligned with the analysis grid, or yield points gridded, as
// an index relative to the median of the field; statistics by zone and by lateral strip.
#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/coverage.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// What a low value of a layer says.
enum class CropSense {
  low_is_bad,   ///< yield, biomass
  high_is_bad,  ///< canopy temperature
};

/// A crop layer on the analysis grid.
struct CropLayer {
  std::string id;
  std::string kind;  ///< yield, biomass, canopy_temperature
  std::string date;
  std::string unit;                            ///< "t/ha", "" for an index
  std::shared_ptr<const RasterReader> values;  ///< in that unit
  double median = 0;                           ///< of the cells inside zones
  CropSense sense = CropSense::low_is_bad;
  /// crop_index of the values.
  std::shared_ptr<const RasterReader> relative;
  std::string method_text;
  Doubts doubts;
};

/// Value over median, or median over value where high is bad, so that a low index is always bad.
/// There a value of 0 or less has no index (Reason::source_nodata).
Raster crop_index(Raster values, double median, CropSense sense);

/// Median of the cells that lie inside zones and have values, by two passes over the raster in
/// bounded memory: counts of the leading and then of the trailing half of the numbers' bits.
struct ZoneCells {
  std::size_t cells = 0;    ///< inside zones, with a value
  std::size_t missing = 0;  ///< inside zones, without one
  double median = 0;        ///< of the middle two where the number is even
};
ZoneCells median_inside_zones(const Field& field, const RasterReader& values);

/// Opens one layer of field.crops as read_crop() of crop_reading.hpp does: a raster, or points (a
/// table or any vector layer) gridded as crop/point_surface.hpp says. Throws InputError with the
/// place of every problem: also when nothing lies on the grid inside a zone, or when the median is
/// not above 0 (no ratio to it means anything).
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
