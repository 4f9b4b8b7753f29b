// SPDX-License-Identifier: Apache-2.0
// Limits that allow for what a fit does not know of its own numbers. Kriging takes the fitted
// variances for the true ones, and so promises too much where few holes were dug.
//
// Satterthwaite 1946, Biometrics Bull. 2:110-114: a variance that was itself estimated counts as
// one with so many degrees of freedom as have its standard error, and Student's t takes the place
// of the normal distribution. Applied to the whole variance of the fit (from memory; an
// approximation that is checked by simulation, tests/bench/run_proof.sh).
#pragma once

#include "evendrip/surface/prediction.hpp"
#include "evendrip/surface/surface_model.hpp"

namespace evendrip {

/// What a fit can vouch for.
struct FitAssurance {
  /// The surface; but one emitter where the fit found nothing that neighbours share. Then nobody
  /// can tell a difference of places from one of emitters, and limits without the nugget would
  /// promise that every place is like the mean.
  Target target = Target::surface;
  double freedom = 0;  ///< degrees of freedom, 4 or more; infinity if all numbers were known
};
/// Standard errors above 2 (of a logarithm) and unknown ones count as 2.
FitAssurance assurance_of(const SurfaceFit& fit);

/// As normal_limits and probability_below, with Student's t.
PredictionLimits student_limits(const Prediction& prediction, double level, double freedom);
double student_probability_below(const Prediction& prediction, double threshold, double freedom);

}  // namespace evendrip
