// SPDX-License-Identifier: Apache-2.0
// What stands in a layer of the crop in which irrigation cannot show: soil, stand and machines.
//
// Such a layer is split as any other into what follows laterals and stations and what ignores them;
// neither is water. Both parts are as well as the layer's own error lets them be known (best linear
// predictions), so that a regression on them is not flattened by that error: regression calibration
// (Carroll, Ruppert, Stefanski & Crainiceanu 2006, "Measurement Error in Nonlinear Models", chapter
// 4, from memory).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/condition/zone_model.hpp"
#include "evendrip/crop/evidence.hpp"

namespace evendrip {

struct SeenBefore {
  std::string layer;
  double pixel_m = 1;
  std::vector<Point> places;   ///< of its data
  std::vector<double> shaped;  ///< there, of relative crop: what follows laterals and stations
  std::vector<double> soil;    ///< there, likewise: what ignores them
  std::vector<double>
      segments;  ///< of each segment of the zone, what follows laterals and stations
};

/// Nothing where no parameters fit it.
std::optional<SeenBefore> seen_before(const SegmentGrid& grid, const std::string& layer,
                                      const std::vector<CropDatum>& data, double pixel_m,
                                      const Work& work);

/// How much of each part stands in a later layer, by least squares; 0 where it is below two
/// standard errors, laterals as the units. Parts that follow laterals are looked for as they were,
/// not turned round.
struct StillThere {
  double shaped = 0;
  double soil = 0;
  bool any() const { return shaped != 0 || soil != 0; }
};
StillThere still_there(const SeenBefore& before, const SegmentGrid& grid,
                       const std::vector<CropDatum>& data, double pixel_m);

/// Of each datum of a layer, what of both parts stands there still.
std::vector<double> pattern_of(const SeenBefore& before, const StillThere& still,
                               const CropEvidence& evidence);

}  // namespace evendrip
