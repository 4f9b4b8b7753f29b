// SPDX-License-Identifier: Apache-2.0
// Where the crop outlines what holes found: of all rectangles of neighbouring laterals and stations
// that hold a hole, the one whose delivery, changed alike, is most in the data.
//
// What befalls a place often ends sharply: roots along a hedge, a pinch, a repair with other tape.
// Parts that vary smoothly would have to be large everywhere to follow such an edge, so the crop's
// edge would go to soil and the low holes to emitters plugged one by one.
#pragma once

#include <optional>

#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

struct FoundPatch {
  SharpPatch patch;
  double gain = 0;  ///< of the log-likelihood at these parameters
};

/// The rectangle that lowers delivery and gains most, of as many laterals as the crop can show and
/// of half of them at most: the best few by their score over their edge are tested by generalised
/// least squares (ZoneModel::tested_responses), and the best is moved edge by edge while it gains.
/// Sought in the coarser model where there is one. Nothing without crop or holes, or where no
/// rectangle gains.
std::optional<FoundPatch> find_patch(const ZoneModel& model, const ConditionParameters& parameters);

/// Whether the patch lies about a hole, by its place or, where that is not known, its station's.
bool holds(const ZoneModel& model, const SharpPatch& patch, const HoleDatum& hole);

/// What a patch must gain to be believed: the logarithm of all rectangles that there are, and of
/// ten for one zone in ten that has a patch (common practice, no source).
double needed_gain(const SegmentGrid& grid);

}  // namespace evendrip
