// SPDX-License-Identifier: Apache-2.0
// What the crop of a made-up field shows: an index that follows the water, the soil and chance, as
// a raster of blurred pixels and as the points of a combine.
//
// Soil: a sum of cosines with random directions and phases, wavelengths 40 to 120 m (spectral
// method, Mantoglou & Wilson 1982, Water Resour. Res. 18:1379-1394), scaled to the plan's standard
// deviation; round patches are laid over it.
#pragma once

#include <string>
#include <vector>

#include "evendrip/geo/raster.hpp"
#include "evendrip/simulate/truth.hpp"

namespace evendrip {

class SoilPattern {
 public:
  explicit SoilPattern(const SimulatedField& field);
  /// Crop index that the soil alone allows at a place of the local frame; about 1.
  double index_at(double along_m, double across_m) const;

 private:
  struct Wave {
    double along_per_m, across_per_m, phase;
  };
  struct Patch {
    double along_m, across_m, radius_m, factor;
  };
  std::vector<Wave> waves_;
  std::vector<Patch> patches_;
  double amplitude_ = 0;
};

/// Crop index without noise; 1 where neither water nor soil hold back, 0.3 outside the zones.
double crop_index_at(const SimulatedField& field, const SoilPattern& soil, double along_m,
                     double across_m);

/// Vegetation index (0 to 1) or canopy temperature (degC) in the field's UTM zone; a pixel sees
/// one and a half times its side.
Raster canopy_raster(const SimulatedField& field);
/// Height of the ground, m, pixels of 5 m.
Raster elevation_raster(const SimulatedField& field);
/// The table of a combine that drives along the laterals, there and back.
std::string yield_table(const SimulatedField& field);

}  // namespace evendrip
