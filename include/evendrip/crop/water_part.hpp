// SPDX-License-Identifier: Apache-2.0
// What of the crop may belong to water: the index less what the field's own broad trend, elevation
// and (where given) soil map explain.
//
// Least squares on a second-order surface of the places, elevation and one level for each soil
// unit; shares of the variance by the order in which terms enter (soil, elevation, trend). A fault
// of the water that itself follows such a term is taken out with it, so both the index and its rest
// are told.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

struct ExplainedShare {
  std::string by;    ///< "soil map", "elevation", "broad trend"
  double share = 0;  ///< of the variance of the index, 0 to 1
};

struct WaterPart {
  /// Index less what is explained, plus 1: again relative, low is bad.
  std::shared_ptr<const RasterReader> rest;
  std::vector<ExplainedShare> explained;
  double rest_sd = 0;
  std::string method_text;
  Doubts doubts;
};

/// `relative`: a crop index on the analysis grid. Cells outside zones do not count. Reads by
/// blocks.
WaterPart water_part(const Field& field, std::shared_ptr<const RasterReader> relative,
                     const Work& work);

}  // namespace evendrip
