// SPDX-License-Identifier: Apache-2.0
// Plugged emitters among the holes: a part of their own, so that one in a hole does not bend the
// map of its neighbours but counts in the share.
//
// A hole is either as its segment says, with the emitter's own spread, or plugged, and then passes
// anything below the threshold alike. The chance of either comes from what the other data say there
// (the cavity of Minka 2001, Proc. UAI 362-369) and lowers the weight of the hole; shares and
// weights are worked out in turn (Dempster, Laird & Rubin 1977, J. R. Stat. Soc. B 39:1-38; all
// from memory).
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

struct ZoneCondition {
  ConditionFit fit;
  ConditionEstimate estimate;
  std::vector<double> plugged;  ///< of each hole: probability that its emitter is plugged
  double plugged_share = 0;     ///< (sum + 0.1) / (holes + 10): one in a hundred of ten seen before
  std::vector<double> delivered;  ///< of each segment: r x (1 - plugged share), mean over emitters
};

/// Share of plugged emitters by the chances of the holes, as in ZoneCondition::plugged_share.
double plugged_share(std::span<const double> plugged);
/// Weights by which the holes' precisions count: one less the chance that each is plugged, and at
/// least 1e-4, which keeps the equations sound.
std::vector<double> hole_weights(std::span<const double> plugged);

/// `plugged_below`: relative discharge, above 0. The estimate is mixed over what the parameters may
/// be (parameter_design.hpp), which are in the fit. Nothing where no parameters work. Throws
/// std::invalid_argument for a threshold not above 0. Same result for any number of threads.
std::optional<ZoneCondition> zone_condition(const ZoneModel& model, double plugged_below,
                                            const ConditionParameters& start = {},
                                            const Work& work = {});

/// The same of a crop whose response bends: its model is bent about the estimate, and the zone
/// judged again, three times at most. The model is left bent about the last estimate but one.
std::optional<ZoneCondition> bent_condition(ZoneModel& model, double plugged_below,
                                            const CropKink& kink,
                                            const ConditionParameters& start = {},
                                            const Work& work = {});

}  // namespace evendrip
