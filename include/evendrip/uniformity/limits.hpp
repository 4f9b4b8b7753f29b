// SPDX-License-Identifier: Apache-2.0
// Confidence limits of the measures of uniformity.
//
// Default: a two-part model. The plugged share has binomial limits on the effective sample
// (plugging.hpp); the emitters that run have a studentised bootstrap (Efron & Tibshirani 1993,
// "An Introduction to the Bootstrap", chapter 12; Davison & Hinkley 1997, "Bootstrap Methods and
// their Application", sections 2.4, 3.8 and 5.2) over laterals, pits and emitters, in logarithms
// and, of the low-quarter shortfall, in logits. Both are joined draw by draw (a draw is one of the
// confidence distribution, as in generalised fiducial inference: Hannig 2009, Stat. Sinica
// 19:491-544). With x of n plugged the lower limit takes the plugged share from its mid-p
// distribution (Lancaster 1961, J. Am. Stat. Assoc. 56:223-234; Berry & Armitage 1995, The
// Statistician 44:417-423): half the draws Beta(x + 1, n - x), half Beta(x, n - x + 1). The upper
// limit takes it from that of the exact lower limit, Beta(x, n - x + 1): none seen, none reckoned.
// The runners are studentised at the plugged share seen, and what a draw moves there it moves at
// every share. (The CV grows with the plugged share: its limits change places.) A bootstrap sample
// that is evener than the population counts with at least two thirds of the sample's standard
// error: one that missed the few slow laterals hardly varies, and its pivot would throw the limit
// to the end of the scale (a bound on the divisor as in Tusher, Tibshirani & Chu 2001, Proc. Natl.
// Acad. Sci. 98:5116-5121; the two thirds are our own and tried by simulation, also on
// zones in which a tenth or more of the laterals run slow). All references from memory.
//
// Most of the width that is left below 72 emitters comes from plugged emitters that the sample may
// have missed: with none among 18 on six laterals 18 % may be plugged, and low-quarter uniformity
// be 0.3.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/uniformity/emitter_sample.hpp"
#include "evendrip/uniformity/plugging.hpp"
#include "evendrip/uniformity/uniformity.hpp"

namespace evendrip {

enum class Measure { mean, cv, low_quarter, christiansen, statistical };
constexpr std::array<Measure, 5> all_measures = {Measure::mean, Measure::cv, Measure::low_quarter,
                                                 Measure::christiansen, Measure::statistical};
/// "mean", "coefficient of variation", ...
std::string to_text(Measure measure);

enum class LimitMethod {
  two_part,      ///< the default, see above
  studentised,   ///< bootstrap-t over laterals, pits, emitters; plugged ones among the rest
  percentile,    ///< plain percentile bootstrap over emitters, for comparison
  bca,           ///< bias-corrected, accelerated bootstrap over emitters, for comparison
  noncentral_t,  ///< exact for independent normal emitters
  chi_square,    ///< approximation for independent normal emitters
  large_sample,  ///< approximation for independent normal emitters
  lateral_means  ///< Student's t from the laterals' own figures, each lateral one observation
};
std::string to_text(LimitMethod method);

/// How often nominal 95 % limits of the low-quarter uniformity held the true one, as shares, over
/// fifteen kinds of simulated survey: zones that are clean, 5 % plugged (scattered, clustered, with
/// 10 % in part), with sediment in the tails; 18, 36 and 72 emitters on 6, 9 and 12 laterals (of
/// those in part 18 and 36).
/// By tests/bench/run_limits.sh.
struct SimulatedCoverage {
  double least_frac = 0;        ///< both limits, worst kind
  double most_frac = 0;         ///< both limits, best kind
  double least_lower_frac = 0;  ///< lower limit alone, worst kind
  int zones = 0;                ///< of each kind
};
/// Nothing for methods that give no limits of the low-quarter uniformity.
std::optional<SimulatedCoverage> simulated_coverage(LimitMethod method);

/// Limits; lower <= upper, always finite. `known` is false where the method cannot speak (one
/// lateral, one emitter, a mean of 0); both limits then equal the estimate and say nothing.
struct Limits {
  LimitMethod method = LimitMethod::two_part;
  bool known = false;
  bool approximation = false;  ///< to be named as one
  double estimate = 0;
  double lower = 0;
  double upper = 0;
};

struct MeasureLimits {
  Measure measure = Measure::mean;
  double estimate = 0;           ///< of the whole sample, quarter by the rule chosen
  double two_part_estimate = 0;  ///< from the plugged share and the runners
  Limits two_part;
  Limits running;              ///< of the emitters that run alone, by the studentised bootstrap
  std::vector<Limits> beside;  ///< the other methods that speak on this measure
  /// Draws behind the lower and behind the upper two-part limit.
  std::vector<double> low_draws;
  std::vector<double> high_draws;
};

struct LimitOptions {
  double confidence = 0.95;
  int draws = 4000;  ///< fewer than 100 are refused
  std::uint64_t seed = 1;
  QuarterRule rule = QuarterRule::fractional;  ///< of the estimate; limits use the fractional one
  PluggingOptions plugging;                    ///< its confidence is set to the one above
  bool comparisons = true;                     ///< the methods beside the default as well
};

struct UniformityLimits {
  int emitters = 0;
  int laterals = 0;
  int pits = 0;
  bool rest_on_model = false;  ///< fewer than six laterals: "these limits rest on the model"
  PluggedShare plugged;
  std::vector<MeasureLimits> measures;  ///< in the order of all_measures
  double corrected_low_quarter_frac = 0;
  Doubts statements;  ///< what can and cannot be concluded
  const MeasureLimits& of(Measure measure) const;
};

/// An empty sample has no measures, only a statement. Throws std::invalid_argument for a negative
/// or not finite discharge, a confidence not inside (0, 1), too few draws.
UniformityLimits confidence_limits(const EmitterSample& sample, const LimitOptions& options = {});

/// Limits of one measure of several zones, each weighted (by area): draws of the zones are
/// independent of each other. Zones without draws are left out.
MeasureLimits weighted_limits(std::span<const UniformityLimits> zones,
                              std::span<const double> weights, Measure measure,
                              double confidence = 0.95);

/// Limits of the CV of independent normal emitters. n is 2 or more, cv not negative, else
/// std::invalid_argument. The upper limit of the noncentral t can be without end for large cv and
/// small n: it is then told as not known, with `upper` 1.
Limits noncentral_t_cv_limits(double cv, int n, double confidence);
Limits chi_square_cv_limits(double cv, int n, double confidence);
/// cv +- z cv sqrt((1 + 2 cv^2) / (2 n)); not below 0.
Limits large_sample_cv_limits(double cv, int n, double confidence);

}  // namespace evendrip
