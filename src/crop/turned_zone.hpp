// SPDX-License-Identifier: Apache-2.0
// The crop of a zone turned so that its laterals run along one axis.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// Bearing of the longest lateral of a zone from its supply end, degrees; nothing without one.
std::optional<double> bearing_of_laterals(const Field& field, int zone);

/// The bearing or its opposite, whichever is within a right angle of an axis; may be below 0.
double along_axis(double bearing_deg, double axis_deg);

/// Whole cells of the zone in bins one cell wide: `across` to the right of the bearing, `along`
/// with it, both counted from the north-west corner of the raster.
struct TurnedZone {
  int zone = -1;
  double bearing_deg = 0;
  double cell_m = 1;  ///< of the grid
  Point corner;       ///< of the raster
  long first_across = 0;
  long first_along = 0;
  std::size_t across = 0;  ///< bins
  std::size_t along = 0;
  std::vector<double> value;   ///< at along + across x bins along; NaN where no cell has a value
  std::vector<double> offset;  ///< across, of the bin's cells on average from its middle, in cells

  double at(std::size_t across_bin, std::size_t along_bin) const {
    return value[across_bin * along + along_bin];
  }
  /// Middle of a bin, m from the corner.
  double across_m(std::size_t bin) const {
    return (static_cast<double>(first_across) + static_cast<double>(bin) + 0.5) * cell_m;
  }
  Point place(std::size_t across_bin, double along_bin) const;
};
TurnedZone turned(const Raster& raster, const Field& field, int zone, double bearing_deg);

/// Mean along the laterals of each bin across them, at the mean place of its cells, over a part of
/// the length; bins with fewer than
/// a third as many values as the fullest are left out.
struct AcrossProfile {
  std::vector<double> at_m;
  std::vector<double> mean;
};
AcrossProfile across_profile(const TurnedZone& zone, double from_share, double to_share);

}  // namespace evendrip
