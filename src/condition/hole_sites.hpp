// SPDX-License-Identifier: Apache-2.0
// What each hole tells of the mean delivery of its place, where its emitter may be plugged or
// clogged more or less than its neighbours: as a normal measurement that, with what the other data
// say, has the mean and variance that the hole truly gives (expectation propagation: Minka 2001,
// Proc. UAI 362-369, from memory).
#pragma once

#include <optional>
#include <vector>

#include "evendrip/condition/clogging.hpp"
#include "evendrip/condition/plugged_places.hpp"
#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

struct HoleSites {
  std::vector<HoleSite> sites;
  std::vector<double> plugged;    ///< of each hole: chance that its emitter is plugged
  std::vector<double> by_chance;  ///< likewise, not by what befell its place
  Clogging clogging;              ///< with the share by chance as it was thought of before
};

/// Of an emitter as made and of the measurement at its hole.
double own_variance(const ConditionParameters& parameters, const HoleDatum& hole);
/// Delivery of a hole's place with its emitters as made: 1 and what is known of the network.
double passed_at(const ZoneModel& model, const HoleDatum& hole);

/// What one hole tells of a place whose delivery is otherwise normal; `variance`: of emitters as
/// made and of the measurement.
HoleSite site_given(const Clogging& clogging, const PlaceDelivery& mean, double place_variance,
                    double variance, double caught);

/// From what is thought of a place before anything is dug: 1, with a standard deviation of 0.25.
HoleSites first_sites(const ZoneModel& model, const ConditionParameters& parameters,
                      double plugged_below);

/// Every hole believed: nothing is plugged.
HoleSites sites_as_caught(const ZoneModel& model, double plugged_below);

/// Sites and clogging in turn until they stay, with the parameters held; the model keeps the sites.
/// The share that is plugged by chance is not learned here: what befell their places is asked first
/// to explain low holes. False where the equations cannot be solved.
bool settle_sites(ZoneModel& model, const ConditionParameters& parameters, HoleSites& sites);

/// How likely each catch is where its emitter is plugged by chance and where it is not, by what the
/// other holes tell of its place. Nothing where the equations cannot be solved.
std::optional<std::vector<PluggedHole>> plugged_or_not(const ZoneModel& model,
                                                       const ConditionParameters& parameters,
                                                       const Clogging& clogging);

/// What the likelihood of the holes as caught has over that of the model's sites, in logarithms
/// (Rasmussen & Williams 2006, "Gaussian Processes for Machine Learning", section 3.6, from
/// memory), plugged emitters where they keep company (plugged_places.hpp). Nothing where the
/// equations cannot be solved.
std::optional<double> log_over_sites(const ZoneModel& model, const ConditionParameters& parameters,
                                     const Clogging& clogging);

}  // namespace evendrip
