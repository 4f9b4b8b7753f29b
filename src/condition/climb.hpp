// SPDX-License-Identifier: Apache-2.0
// Uphill on the posterior of a zone's parameters.
#pragma once

#include "fitted_posterior.hpp"

namespace evendrip {

struct Climb {
  FittedVector x{};
  double value = impossible_posterior;
  double damping = 1e-3;
  int evaluations = 0;
  bool settled = false;
};

/// Up to so many damped steps of Newton that gain, from climb.x.
void climb_on(const FittedPosterior& posterior, Climb& climb, int steps);

}  // namespace evendrip
