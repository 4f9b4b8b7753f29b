// SPDX-License-Identifier: Apache-2.0
// How much rests on one measurement: how far each measured emitter alone moves the map of its zone.
#pragma once

#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/surface/discharge_map.hpp"

namespace evendrip {

/// For each of DischargeMap::fitted_samples: the zone's mean relative discharge with all of them
/// less that without this one (model_choice.hpp, influence), the zone as at most `most_sites`
/// places spread evenly over its laterals. NaN where the zone is not mapped by a model.
std::vector<double> zone_influence(const Field& field, const DischargeMap& map, const Work& work,
                                   int most_sites = 200);

}  // namespace evendrip
