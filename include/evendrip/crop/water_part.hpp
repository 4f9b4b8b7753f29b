// SPDX-License-Identifier: Apache-2.0
// What of the crop may belong to water: the index less what the field's own broad trend, elevation
// and (where given) soil map explain.
//
// Least squares on one level for each soil unit, elevation and a second-order surface of the
// places, in that order, beside a level and a second-order curve along the stations for each zone:
// faults of the water show as just that, a zone that gets less or a fall toward the far end, and
// must neither bend the coefficients nor be taken out as a trend. So of elevation and trend only
// the part is taken out that is orthogonal to zones and stations: the rest has exactly the level of
// each zone and the curve along its laterals that the index has (less soil). What the same terms
// would explain along zones and stations is told and left in, for nobody can tell it from a fault.
// Soil, a map that somebody drew for other reasons, is taken out in full, with levels that are
// estimated beside zones and stations; a unit that is nearly a zone of its own is not.
//
// Sums of squares and products are swept column by column: Goodnight 1979, Am. Stat. 33:149-158;
// zones and stations first, which leaves the regression on what they do not explain (Frisch & Waugh
// 1933, Econometrica 1:387-401) (both from memory). A column of which less than a fiftieth is left
// beside those before it is left out.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

struct ExplainedShare {
  std::string by;      ///< "soil map", "elevation", "broad trend"
  double share = 0;    ///< of the variance of the index, 0 to 1, that was taken out
  double left_in = 0;  ///< more that it would explain along zones and stations; not taken out
};

struct WaterPart {
  /// Index less what is explained (of which the mean is 0): again relative, low is bad. Cells
  /// outside the zones, and those without elevation where there is some, have no value.
  std::shared_ptr<const RasterReader> rest;
  std::vector<ExplainedShare> explained;  ///< in the order in which terms enter
  double index_sd = 0;
  double rest_sd = 0;
  std::string method_text;
  Doubts doubts;
};

/// `relative`: a crop index on the analysis grid. Cells outside zones do not count. Reads by
/// blocks; memory does not grow with the grid beyond the raster held (16 million cells at most).
/// Same result for any number of threads.
WaterPart water_part(const Field& field, std::shared_ptr<const RasterReader> relative,
                     const Work& work);

}  // namespace evendrip
