// SPDX-License-Identifier: Apache-2.0
// The crop against the station along the laterals, averaged over the laterals of a zone: does it
// fall toward the far end? And the crop by segment of each lateral, for people to look at.
#pragma once

#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

struct ProfileBin {
  double station_m = 0;  ///< middle
  double mean = 0;       ///< over laterals, of each one's mean there
  double lower_90 = 0;   ///< t limits, laterals as replicates
  double upper_90 = 0;
  int laterals = 0;
};

struct LateralProfile {
  int zone = -1;
  std::vector<ProfileBin> bins;
  /// Change from the supply end to the far end over the mean: straight line through each lateral's
  /// bins, mean of the slopes over laterals, corrected for the likeness of neighbouring laterals.
  double fall = 0;
  double fall_lower_90 = 0;
  double fall_upper_90 = 0;
  double tail_level = 1;  ///< mean of the last quarter over that of the first half
  std::string verdict;    ///< in words
};
/// `relative`: index on the grid, means under each piece of strip with exact cell shares. Stations
/// within `headland_m` of either end are drawn and do not count in the fall.
std::vector<LateralProfile> lateral_profiles(const Field& field, const RasterReader& relative,
                                             double headland_m, const Work& work);

struct CropSegment {
  int lateral = -1;
  double from_m = 0;
  double to_m = 0;
  double mean = 0;
  double missing_share = 0;
};
/// Strips half a spacing wide on both sides, cut to `segment_m` (the last one shorter).
std::vector<CropSegment> crop_by_segment(const Field& field, const RasterReader& relative,
                                         double segment_m, const Work& work);

}  // namespace evendrip
