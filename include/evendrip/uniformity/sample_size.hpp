// SPDX-License-Identifier: Apache-2.0
// Was the sample large enough, and what would be: emitters needed for a chosen half-width on a
// uniformity measure or on the mean, as so many laterals times so many emitters at least cost.
//
// A measure is carried to the emitters by its influence values (Serfling 1980, Approximation
// Theorems of Mathematical Statistics; from memory): its error is that of a mean of them, so one
// pair of components, between and within laterals, serves every measure. A plan of m laterals of
// M and k emitters of K on each has the variance B(1/m - 1/M) + W(1/(mk) - 1/(MK)). Its half-width
// is Student's with Satterthwaite's degrees of freedom (1946, Biometrics Bull. 2:110-114; from
// memory), which kurtosis lowers to half at most, and so large that the promised share of such
// surveys reaches it. Cost as in two-stage sampling (Cochran 1977, Sampling Techniques; from
// memory). Measures are fractions; half-widths are absolute fractions of a measure, relative for
// the mean.
#pragma once

#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/uniformity/components.hpp"

namespace evendrip {

enum class PlannedMeasure { mean, statistical_uniformity, low_quarter_uniformity, christiansen };
std::string to_text(PlannedMeasure measure);

/// What each emitter adds to a measure's error, around 0; relative to the mean. Empty for an empty
/// sample, a mean of 0, or a value that is negative or not finite.
std::vector<double> influence_values(std::span<const double> discharges, PlannedMeasure measure);

/// Fourth moments of influence, for how far estimated half-widths scatter: a lateral with low
/// discharges both shifts and spreads the influence of its emitters. Means over laterals of powers
/// of a lateral's mean (m), and of the central moments within it (v second, t third, f fourth).
struct LateralShape {
  double between = 0;  ///< mean of m^2
  double within = 0;   ///< mean of v
  double m4 = 0;
  double m2v = 0;
  double mt = 0;
  double f = 0;
  double v2 = 0;
  double heavier = 1;  ///< kurtosis of the sample over that of normal emitters, at least 1
  /// Excess kurtosis of the mean of that many emitters of one lateral, not below 0.
  double excess_kurtosis(double emitters) const;
};

/// Variances of the influence of one lateral and of one emitter on it. The shape is that of normal
/// emitters of the same CV and lateral share, made heavier where the sample's is.
struct PlanComponents {
  bool computed = false;
  std::string why_not;
  std::string remark;  ///< may be empty
  PlannedMeasure measure = PlannedMeasure::mean;
  double between = 0;
  double within = 0;
  LateralShape shape;
};
/// From a survey: discharges with their laterals. What pits differ by counts to the emitters: a
/// plan digs each in a hole of its own. One emitter on every lateral: all counts to the laterals.
/// Not computed, with the reason: one lateral, all alike, none that gives water, a negative value.
PlanComponents plan_components(std::span<const GroupedValue> discharges, PlannedMeasure measure);
/// Without a survey: normal discharges of a CV, of whose variance a share lies between laterals.
PlanComponents normal_plan_components(double cv, double lateral_share_frac, PlannedMeasure measure);

struct PlanOptions {
  double half_width_frac = 0.05;
  double confidence = 0.95;
  /// Share of surveys of the planned size that reach the half-width; 0.5 plans for the middle one.
  double assurance = 0.9;
  double lateral_cost = 4;  ///< of opening one more lateral, in emitters on an open one
  double emitter_cost = 1;
  int laterals = 0;                     ///< in the zone; 0: so many that they do not count
  int emitters_on_a_lateral = 0;        ///< likewise
  int most_emitters_on_a_lateral = 40;  ///< that anyone would dig
};

struct SamplingPlan {
  bool found = false;
  std::string why_not;
  int laterals = 0;
  int emitters_on_each = 0;
  int emitters = 0;
  double cost = 0;
  double expected_half_width_frac = 0;  ///< of the middle survey
  double assured_half_width_frac = 0;   ///< that the promised share of surveys reaches
  std::string text;                     ///< "12 laterals with 4 emitters on each: 48 emitters"
};

struct PlannedHalfWidth {
  double variance = 0;
  double degrees_of_freedom = 0;
  double expected_frac = std::numeric_limits<double>::infinity();
  double assured_frac = std::numeric_limits<double>::infinity();
};
/// Half-widths of a plan of that size; infinite for one lateral out of several.
PlannedHalfWidth planned_half_width(const PlanComponents& components, int laterals,
                                    int emitters_on_each, const PlanOptions& options);
/// The cheapest plan that is assured; of equally cheap ones that with more laterals. At most 1,000
/// laterals are looked at. These three throw std::invalid_argument for a half-width or cost that is
/// not above 0, shares not inside 0 to 1, counts below 0.
SamplingPlan cheapest_plan(const PlanComponents& components, const PlanOptions& options);

/// Was this survey enough? Its own half-width against the wanted one, and the plan that would be.
struct SampleJudgement {
  PlanComponents components;
  int laterals = 0;
  int emitters = 0;
  std::optional<double> half_width_frac;  ///< of this survey; nothing where it cannot be told
  bool enough = false;
  SamplingPlan plan;
  std::string text;
};
SampleJudgement judged_sample(std::span<const GroupedValue> discharges, PlannedMeasure measure,
                              const PlanOptions& options);

/// Emitters for the mean within a relative error: n0 = (z CV/d)^2, n = n0/(1 + n0/N), rounded up.
/// Cochran 1977 (from memory). `population` 0: without end.
int emitters_for_mean(double cv, double relative_error, double confidence = 0.95,
                      int population = 0);
/// Chance that a random sample shows no plugged emitter when a share is plugged: (1 - p)^n, or
/// without replacement from `population` (the plugged ones rounded to whole emitters).
double chance_to_miss_plugged(double share_frac, int emitters, int population = 0);
/// Smallest sample that misses them with at most that chance; the population at most.
int emitters_to_meet_plugged(double share_frac, double chance, int population = 0);

}  // namespace evendrip
