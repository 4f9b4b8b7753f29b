// SPDX-License-Identifier: Apache-2.0
// The crop against the station along the laterals, averaged over the laterals of a zone: does it
// fall toward the far end? And the crop by segment of each lateral, for people to look at.
//
// Laterals are the replicates; neighbours are alike (one pixel or header spans several, soil does
// too), and a few that are plugged are not like the others: crop/neighbour_mean.hpp.
#pragma once

#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/crop/neighbour_mean.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

struct ProfileBin {
  double station_m = 0;  ///< middle
  double mean = 0;       ///< over laterals, of each one's mean there, odd ones set aside
  double lower_90 = 0;   ///< as OrderedMean; the mean itself where they are not known
  double upper_90 = 0;
  int laterals = 0;
};

struct LateralProfile {
  int zone = -1;
  std::vector<ProfileBin> bins;
  int laterals = 0;               ///< that count in the fall
  double effective_laterals = 0;  ///< independent ones that they are worth
  bool known = false;             ///< the fall has limits
  /// What is lost from the supply end to the far end, over the mean: above 0 where the crop falls,
  /// below where it rises. Straight line through each lateral's bins, mean over laterals but odd
  /// ones. Of laterals that are fed from both ends, from the ends to the middle.
  double fall = 0;
  double fall_lower_90 = 0;
  double fall_upper_90 = 0;
  double tail_level = 1;  ///< mean of the last quarter over that of the first half, likewise
  std::vector<int> odd;   ///< laterals whose fall is far from that of most: in no mean here
  std::string verdict;    ///< in words
};
/// One for each zone that has laterals. `relative`: index on the grid, means under each piece of
/// strip with exact cell shares. Stations within `headland_m` of either end are drawn and do not
/// count in the fall. Bins are a twentieth of the longest lateral, but no shorter than two cells; a
/// lateral counts in a bin of which at least half has values, and in the fall with three such bins
/// over at least half its length.
std::vector<LateralProfile> lateral_profiles(const Field& field, const RasterReader& relative,
                                             double headland_m, const Work& work);

struct CropSegment {
  int lateral = -1;
  double from_m = 0;
  double to_m = 0;
  double mean = 0;  ///< 0 where nothing has a value
  double missing_share = 0;
};
/// Strips half a spacing wide on both sides, cut to `segment_m` (the last one shorter). Throws
/// std::invalid_argument unless segment_m > 0.
std::vector<CropSegment> crop_by_segment(const Field& field, const RasterReader& relative,
                                         double segment_m, const Work& work);

}  // namespace evendrip
