// SPDX-License-Identifier: Apache-2.0
// The meter as one more datum of a zone's estimate: the mean over all its emitters, holes or not.
//
// The mean delivery is normal as holes and crop leave it; the meter's reading of it is MeterDatum,
// in which a leak that is not negative may hold a part of the flow. What both say of the mean is
// had by quadrature and kept as a normal one (moments matched, as in expectation propagation: Minka
// 2001, Proc. UAI 362-369, from memory); all else follows the mean as the data leave it
// (conditioning by a sum: ZoneModel::pull_of_mean). So a reading far above what the emitters should
// pass is put to a leak and hardly moves them. The parameters are not fitted again: one datum on
// the mean says next to nothing of them.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evendrip/condition/meter_evidence.hpp"
#include "evendrip/condition/plugged_holes.hpp"

namespace evendrip {

/// What the meter made of a zone's mean r and of all that follows it.
struct MeterHeard {
  MeanPull pull;             ///< the mean before, at the best parameters
  double moved = 0;          ///< of the mean of r, up or down
  double variance_left = 1;  ///< share of the mean's variance that is left
};

/// `emitters`: of each segment, how many emitters it has. `plugged_below`: a plugged emitter gives
/// half of that on the mean. Moves the estimate and what is delivered, and narrows it; nothing is
/// done and nothing returned where the equations cannot be solved or no segment has an emitter.
std::optional<MeterHeard> hear_meter(const MeterDatum& datum, const ZoneModel& model,
                                     std::span<const int> emitters, double plugged_below,
                                     ZoneCondition& condition);

/// The same for drawn r of all segments, one draw after the other.
void move_draws(const MeterHeard& heard, std::span<const int> emitters,
                std::vector<std::vector<double>>& draws);
/// The same for an estimate at other parameters, for comparison.
void move_estimate(const MeterHeard& heard, ConditionEstimate& estimate);

}  // namespace evendrip
