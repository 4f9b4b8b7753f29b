// SPDX-License-Identifier: Apache-2.0
// How sure the whole variance of a sample is (between laterals, between pits and within them
// together) where emitters of one lateral are alike.
//
// The sample variance is judged by its distribution, a sum of chi-squares in the eigenvalues of the
// nested covariance, by Pearson's three-moment approximation (Imhof 1961, Biometrika 48:419-426).
// How a supposed whole variance divides between the levels is taken from the restricted likelihood
// under that very supposition (a parametric bootstrap under the null without its draws). Limits are
// the whole variances that the test does not refuse. Effects are taken for normal. From memory.
#pragma once

#include <span>

#include "evendrip/uniformity/components.hpp"

namespace evendrip {

/// Chance of a sample variance this large or larger if the true one were `variance` (above 0). An
/// emitter on no lateral, or in no pit, has one of its own. Two values or more, all finite.
double chance_of_variance_above(std::span<const GroupedValue> values, double variance);

struct VarianceLimits {
  double lower = 0;
  double upper = 0;
};
/// Two-sided; both 0 where all values are equal.
VarianceLimits total_variance_limits(std::span<const GroupedValue> values, double confidence);

}  // namespace evendrip
