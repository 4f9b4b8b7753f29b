// SPDX-License-Identifier: Apache-2.0
// Indices of green cover from reflectance bands, and what must not be read from them.
//
// NDVI = (n - r) / (n + r): Rouse, Haas, Schell & Deering 1974, NASA SP-351. Red-edge index
// (n - e) / (n + e): Barnes et al. 2000, Proc. 5th Int. Conf. Precision Agric. (from memory). NDVI
// flattens in a closed canopy: Gitelson 2004, J. Plant Physiol. 161:165-173 (from memory).
//
// Bands are brought to the cells first and the index is taken of what arrives there: reflectance
// adds up over an area and an index does not, so the cell has the index that a pixel as large as
// the cell would have, however finely the source divides it, and a dark shadow counts by the light
// it sends, not as much as a sunlit leaf. The mean of the pixels' indices would be another number
// wherever cover varies within a cell (Aman et al. 1992, IEEE Trans. Geosci. Remote Sens.
// 30:326-338, from memory).
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// (a - b) / (a + b); NaN where the sum is not above 0.
double normalised_difference(double a, double b);

/// NDVI from which on more leaves hardly show; common practice, no source.
constexpr double ndvi_saturates_at = 0.85;

struct IndexLayer {
  std::shared_ptr<const RasterReader> values;  ///< on the grid; masked cells have source_nodata
  std::string name;                            ///< "NDVI", "red-edge index", "biomass" ...
  std::string unit;                            ///< "C" for a temperature, "t/ha" for a yield
  double pixel_m = 0;                          ///< of the source, on the ground
  /// Shares of the cells inside zones.
  double saturated_share = 0;  ///< NDVI at which it says no more; 0 for another index
  double masked_share = 0;     ///< under the mask
  double bare_share = 0;       ///< below bare_below
  double edge_share = 0;       ///< in pixels that straddle the limit of the zones
  std::string method_text;
  Doubts doubts;
};

/// The layer of a raster [[crop]] on the grid: a ready band, or an index of `bands`; scaled by
/// full_scale; cells under the mask, below bare_below, and in pixels that straddle the outer limit
/// of the zones, without value (io/raster_file.hpp, open_raster_inside). A cell is under the mask
/// where any pixel that it is made of is: looked up at the places of a raster four times as fine as
/// the cells, or as fine as the mask, out to half a pixel of the source beyond the cell.
///
/// Scale: an index lies from -1 to 1 and a reflectance from 0 to about 1. A ready band of whole
/// numbers beyond that without full_scale (0-255, 0-10,000), and any values beyond it with
/// full_scale, are refused; a ready band with fractions beyond it is taken as an amount on a scale
/// that starts at 0, with a doubt; so are bands without full_scale, for an index of them is the
/// same on any scale that starts at 0. Temperatures and yields are read in the unit that the band
/// states (C and t/ha if it states none); a mean canopy beyond -5 to 60 C is refused. Nothing is
/// rescaled by guess.
///
/// Throws InputError: bands that are not there, such values ("crop_scale_not_stated",
/// "crop_scale_wrong"), nothing left ("crop_without_values"); as open_raster_on_grid and
/// open_raster_inside.
IndexLayer open_index(const Field& field, const CropSource& source, const Grid& grid,
                      const Work& work);

}  // namespace evendrip
