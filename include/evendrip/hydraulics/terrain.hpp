// SPDX-License-Identifier: Apache-2.0
// Height of the ground along buried lines, from the elevation raster of the field.
#pragma once

#include <memory>
#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

struct ElevationProfile {
  std::vector<double> elevation_m;  ///< at each station asked for
  double sd_m = 0;                  ///< standard error of a smoothed height
};

/// The elevation raster (any CRS and cell; heights in the unit that its band states, metres if it
/// states none) as heights along lines. Without one everything is level at 0 and `known()` is
/// false.
class Terrain {
 public:
  /// Throws FileError if the raster cannot be read, InputError if it has no CRS or does not reach
  /// the field.
  explicit Terrain(const Field& field);
  ~Terrain();
  Terrain(Terrain&&) noexcept;
  bool known() const;
  /// Sampled bilinearly at the cell pitch along the line and smoothed by a local straight line
  /// (robust to outliers) whose window is 20 m or six cells, whichever is longer, for buried lines
  /// follow the plough's mean ground, not its clods (window: common practice, no source). Stations
  /// in m on the ground, rising. Doubts, each told once: "no_elevation", "elevation_outlier"
  /// (heights off their neighbours by more than five robust standard deviations and 1 m: left out,
  /// the farthest with its place), "elevation_gap" (nearest height taken),
  /// "elevation_unit_not_known" (a unit of no known name, or none in a field measured in feet).
  ElevationProfile along(const Line& line, const std::vector<double>& stations_m,
                         Doubts& doubts) const;
  double at(Point place) const;  ///< 0 where unknown

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace evendrip
