// SPDX-License-Identifier: Apache-2.0
// Confidence limits of the measures of uniformity.
//
// Default: a two-part model. The plugged share has exact binomial limits on the effective sample
// (plugging.hpp); the emitters that run have a studentised bootstrap (Efron & Tibshirani 1993,
// "An Introduction to the Bootstrap", chapter 12; Davison & Hinkley 1997, "Bootstrap Methods and
// their Application", sections 2.4 and 3.8) over laterals, pits and emitters. Both are joined draw
// by draw: the lower limit takes the plugged share from the distribution of its upper limit, Beta(x
// + 1, n - x), the upper limit from that of its lower limit, Beta(x, n - x + 1).
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
/// 10 % in part), with sediment in the tails; 18, 36 and 72 emitters on 6, 9 and 12 laterals.
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
  /// Draws behind the two-part limits, of the pessimistic and of the optimistic plugged share.
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
