// SPDX-License-Identifier: Apache-2.0
// The soil of a made-up field as a map has it: units that meet at edges, and patches of other
// ground in them, each with what its soil holds for the crop and how well the crop stands on it for
// reasons other than water.
//
// Units are the neighbourhoods of a few random places, their limits bent by waves of 30 to 70 m;
// patches are ellipses with sharp edges. Invented, no source.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

/// Pairs are the least and the most, drawn evenly.
struct SoilMapPlan {
  int units = 3;
  int patches = 2;
  std::array<double, 2> available_mm_m{90, 200};  ///< water held for the crop, of a unit
  std::array<double, 2> unit_factor{0.88, 1};     ///< on the crop
  std::array<double, 2> patch_factor{0.65, 0.95};
  std::array<double, 2> patch_radius_m{4, 15};      ///< half axes
  std::array<double, 2> patch_available{0.5, 1.0};  ///< over that of the unit around it
  std::uint64_t seed = 1;
};

struct SoilHere {
  int unit = 0;
  double available_mm_m = 0;
  double factor = 1;
};

class SoilMap {
 public:
  /// `ground` in the local frame: x along the flow, y across. Throws std::invalid_argument for
  /// fewer than one unit, patches below 0 or an empty extent.
  SoilMap(const SoilMapPlan& plan, const Extent& ground);
  SoilHere at(double along_m, double across_m) const;

 private:
  struct Unit {
    Point middle;
    double available_mm_m, factor;
  };
  struct Patch {
    Point middle;
    double half_m, half_aside_m, cosine, sine, available, factor;
  };
  struct Wave {
    double amplitude_m, per_m, phase;
  };
  std::vector<Unit> units_;
  std::vector<Patch> patches_;
  std::array<Wave, 2> along_{};
  std::array<Wave, 2> across_{};
};

}  // namespace evendrip
