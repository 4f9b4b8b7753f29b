// SPDX-License-Identifier: Apache-2.0
// Variance between laterals, between the pits of a lateral and within them, for samples in which
// every lateral may show another number of emitters.
//
// Random effects by restricted maximum likelihood: Patterson & Thompson 1971, Biometrika 58:545-554
// (from memory); standard errors from the observed information, limits by normal theory on the
// logarithm of a variance, from a zero estimate by the profile of the restricted likelihood. Values
// may be any response of order 1 (discharge over its mean, logarithm of performance): scatter below
// 1e-11 counts as rounding. Variances are in its square. Agrees with R nlme 3.1 to 1e-4.
#pragma once

#include <optional>
#include <span>
#include <string>

namespace evendrip {

/// One emitter's response with where it stands. The same pit number on two laterals means two pits.
struct GroupedValue {
  double value = 0;
  int lateral = -1;
  int pit = -1;          ///< -1: a pit of its own
  double covariate = 0;  ///< for trend_along: station over the length of the lateral
};

struct VarianceComponent {
  double variance = 0;
  /// Nothing where the estimate stands at zero: there a standard error misleads, the limits tell.
  std::optional<double> standard_error;
  /// One-sided from a zero estimate; no upper limit where the data give none.
  double lower = 0;
  std::optional<double> upper;
};

/// Limits of the share of the variance that lies between laterals: the variance ratios that the F
/// test of laterals against what varies within them does not refuse, exact for normal effects
/// however uneven the numbers of emitters (Wald 1940, Ann. Math. Stat. 11:96-100, from memory);
/// with pits as a level the ratio of pits to emitters is taken as estimated and pits are counted
/// for the degrees of freedom.
struct LateralShareLimits {
  bool known = false;
  double lower = 0;
  double upper = 1;
};

struct VarianceComponents {
  bool computed = false;
  std::string why_not;  ///< a plain sentence where not computed
  std::string remark;   ///< a plain sentence on what the figures cannot tell; may be empty
  int emitters = 0;
  int laterals = 0;
  int pits = 0;
  double mean = 0;  ///< by generalised least squares
  double mean_standard_error = 0;
  VarianceComponent between_laterals;
  std::optional<VarianceComponent> between_pits;  ///< only where pits show two emitters or more
  VarianceComponent within;
  double lateral_share_frac = 0;  ///< between laterals over the sum; 0 where the sum is 0
  LateralShareLimits lateral_share;
  double restricted_log_likelihood = 0;

  double total_variance() const {
    return between_laterals.variance + (between_pits ? between_pits->variance : 0) +
           within.variance;
  }
};

enum class PitLevel {
  where_data_allow,  ///< default: where some pits show two emitters and some laterals two pits
  none               ///< laterals and emitters only
};

/// Limits have this confidence, inside 0 to 1 (else std::invalid_argument).
/// Not computed, with the reason: fewer than two laterals, no lateral with two emitters, a value
/// that is not finite, an emitter that is on no lateral.
VarianceComponents variance_components(std::span<const GroupedValue> values,
                                       PitLevel level = PitLevel::where_data_allow,
                                       double confidence = 0.95);

/// The slope of the response on the covariate with laterals (and pits) as random effects.
struct Trend {
  bool computed = false;
  std::string why_not;
  double slope = 0;  ///< of the response from one end of a lateral (0) to the other (1)
  double standard_error = 0;
  double t = 0;
  /// Of the level where the covariate varies most: units there less groups above less 1.
  double degrees_of_freedom = 0;
  double p_two_sided = 1;
  /// Where slopes differ from lateral to lateral the error above is too small: this one leaves out
  /// lateral by lateral (jackknife: Efron & Tibshirani 1993, chapter 11, from memory), with the
  /// laterals less 1 degrees of freedom. Nothing below three laterals.
  std::optional<double> lateral_standard_error;
  double p_value = 1;  ///< the larger of the two
  double lower = 0;    ///< the farther of the two, here and above
  double upper = 0;
  double intercept = 0;  ///< of the response at covariate 0
  double intercept_standard_error = 0;
  double between_laterals_variance = 0;
  double within_variance = 0;
};

/// One lateral alone is an ordinary straight line. Not computed, with the reason, where the
/// covariate varies along no lateral, too few emitters stand on each, or there is no scatter.
Trend trend_along(std::span<const GroupedValue> values, PitLevel level = PitLevel::where_data_allow,
                  double confidence = 0.95);

}  // namespace evendrip
