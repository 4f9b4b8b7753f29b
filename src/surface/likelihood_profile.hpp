// SPDX-License-Identifier: Apache-2.0
// How sure a fit is of its parameters.
#pragma once

#include <span>
#include <vector>

#include "likelihood_search.hpp"

namespace evendrip::likelihood {

/// Standard errors of the logarithms; NaN for a parameter at a bound or where the likelihood is
/// flat.
std::vector<double> log_errors(const Optimum& optimum, std::span<const Parameter> parameters,
                               std::span<const Bounds> bounds);

struct ProfileLimits {
  double lower = 0;  ///< 0: the likelihood does not fall off below
  double upper = 0;  ///< infinity: it does not fall off above
};
/// Of parameter number `which`, at the 95 % level, the others at their best for each value of it.
ProfileLimits profile_limits(const Problem& problem, const Optimum& optimum,
                             std::span<const Parameter> parameters, std::span<const Bounds> bounds,
                             std::size_t which, double log_error, const Work& work);

}  // namespace evendrip::likelihood
