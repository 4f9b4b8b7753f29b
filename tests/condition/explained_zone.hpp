// SPDX-License-Identifier: Apache-2.0
// An invented faulty zone fitted and then explained by its network, as a survey is judged.
#pragma once

#include <cmath>
#include <optional>
#include <vector>

#include "evendrip/condition/network_faults.hpp"
#include "evendrip/condition/plugged_holes.hpp"
#include "faulty_field.hpp"

namespace evendrip::test {

struct ExplainedZone {
  FaultyField zone;
  ZoneModel model;
  ConditionParameters parameters;
  NetworkExplanation explanation;

  explicit ExplainedZone(const FaultyPlan& plan, const Work& work = {})
      : zone(faulty_field(plan)), model(zone.grid, zone.holes, zone.crop, ranges_of(zone.grid, 1)) {
    const auto fitted = zone_condition(model, 0.75, {}, {}, PatchSearch::none);
    if (!fitted) return;
    parameters = fitted->fit.parameters;
    for (const double plugged : fitted->plugged) weights.push_back(1 - plugged);
    explanation =
        explain_by_network(zone.field, zone.survey, zone.zone(), model, parameters, weights, work);
  }
  std::vector<double> weights;

  /// Root mean square of what is explained less the truth, over the segments.
  double error() const {
    double sum = 0;
    for (std::size_t i = 0; i < zone.delivery.size(); ++i)
      sum += std::pow(1 + explanation.change[i] - zone.delivery[i], 2);
    return std::sqrt(sum / static_cast<double>(zone.delivery.size()));
  }
};

}  // namespace evendrip::test
