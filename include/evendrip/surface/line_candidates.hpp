// SPDX-License-Identifier: Apache-2.0
// The models that are tried on a field: what faults of a drip system leave behind, by mechanism.
// Sediment and pressure follow the station; an inlet fitting or a flush touches a whole lateral; a
// pinched line all that lies beyond; a manifold or a block of the same age a group of neighbouring
// laterals; roots, slime and traffic a patch that is longer along the laterals than across.
#pragma once

#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/surface/model_choice.hpp"

namespace evendrip {

/// Simplest first. The mean is that of each zone in which samples lie; elsewhere the trend has no
/// value. No covariance reaches from one zone to another. First values of ranges come from the
/// lengths and the spacing of the laterals, of variances from the samples. Terms across the
/// laterals are left out where these do not run the same way, terms that need a lateral where a
/// sample is on none, and all but the simple ones with fewer than ten samples. Throws
/// std::invalid_argument without samples.
std::vector<Candidate> line_candidates(const Field& field, const Samples& samples);

}  // namespace evendrip
