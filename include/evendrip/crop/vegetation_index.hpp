// SPDX-License-Identifier: Apache-2.0
// Indices of green cover from reflectance bands, and what must not be read from them.
//
// NDVI = (n - r) / (n + r): Rouse, Haas, Schell & Deering 1974, NASA SP-351. Red-edge index
// (n - e) / (n + e): Barnes et al. 2000, Proc. 5th Int. Conf. Precision Agric. (from memory). NDVI
// flattens in a closed canopy: Gitelson 2004, J. Plant Physiol. 161:165-173 (from memory).
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// (a - b) / (a + b); NaN where the sum is not above 0.
double normalised_difference(double a, double b);

struct IndexLayer {
  std::shared_ptr<const RasterReader> values;  ///< on the grid; masked cells have source_nodata
  std::string name;                            ///< "NDVI", "red-edge index", "biomass" ...
  double pixel_m = 0;                          ///< of the source, on the ground
  double saturated_share = 0;  ///< of the cells inside zones, where the index says no more
  std::string method_text;
  Doubts doubts;
};

/// The layer of a raster [[crop]] on the grid: a ready band, or an index of `bands`; scaled by
/// full_scale; cells under the mask, below bare_below, and the pixels that straddle the limit of
/// the zones, without value. Throws InputError: bands that are not there, values that do not fit
/// the scale (0-255, 0-10,000 without full_scale, beyond -1 to 1 with it), nothing left; as
/// open_raster_on_grid.
IndexLayer open_index(const Field& field, const CropSource& source, const Grid& grid,
                      const Work& work);

}  // namespace evendrip
