// SPDX-License-Identifier: Apache-2.0
// How a crop that is known on fine cells of the local frame (x along the flow, y across) comes to
// be seen: what machines and turning do to it, the blur of a sensor, the pixels of a raster that
// lies a little beside its place, the records of a harvester that mixes grain on its way.
#pragma once

#include <cstdint>
#include <vector>

#include "evendrip/geo/raster.hpp"
#include "evendrip/simulate/truth.hpp"

namespace evendrip {

/// Means under a bell of this standard deviation in each axis, cut at four of them; at the limit of
/// the raster the rest of the bell counts.
Raster blurred(const Raster& ground, double sd_m);

/// The crop within `width_m` of either end of the laterals times `factor`.
Raster with_headland(Raster ground, double lateral_length_m, double width_m, double factor);

/// High and low by turns across the laterals, half of `width_m` each.
struct CropStripes {
  double width_m = 12;      ///< of the implement: the period
  double amplitude = 0.05;  ///< half of high less low
  double phase_m = 0;       ///< where a high half begins
};
Raster with_stripes(Raster ground, const CropStripes& stripes);

/// One strip along the laterals times `factor`.
Raster with_strip(Raster ground, double from_across_m, double to_across_m, double factor);

struct SensorPlan {
  double pixel_m = 1;
  double blur_m = 0.3;     ///< standard deviation, before pixels are cut
  Point shift_m;           ///< east and north, by which the raster lies beside its place
  double noise_cv = 0.05;  ///< of a pixel, on its own
  std::uint64_t seed = 1;
};
/// North-up pixels in the frame's CRS, over the zones.
Raster sensed_raster(const SimulatedField& field, const Raster& ground, const SensorPlan& plan);

struct HarvesterPlan {
  double swath_m = 6;
  double speed_m_s = 1.6;
  double record_s = 1;
  double mixing_s = 2;     ///< standard deviation of the way's time of grain of one moment
  double lag_error_s = 0;  ///< records stand this much too far ahead
  Point shift_m;           ///< as of SensorPlan
  double noise_cv = 0.05;
  std::uint64_t seed = 1;
};
struct HarvestRecord {
  Point place;  ///< frame's CRS
  double value = 0;
  double heading_deg = 0;
  double time_s = 0;
  int pass = 0;
};
/// Along the laterals there and back, from the first zone's edge on, whole swaths.
std::vector<HarvestRecord> harvested(const SimulatedField& field, const Raster& ground,
                                     const HarvesterPlan& plan);

}  // namespace evendrip
