// SPDX-License-Identifier: Apache-2.0
// Restricted likelihood of nested random effects (laterals, pits, emitters) from sums alone: a
// likelihood costs a few operations for each pit, however many emitters there are.
#pragma once

#include <span>
#include <vector>

#include "evendrip/uniformity/components.hpp"

namespace evendrip {

struct PitSums {
  double emitters = 0;
  double mean_x = 0;
  double mean_y = 0;
};

/// Responses (y) and covariates (x) of a sample, grouped. Deviations are taken level by level, so
/// that nothing cancels however large one level is beside another.
struct NestedSums {
  std::vector<std::vector<PitSums>> laterals;
  double emitters = 0;
  double within_xx = 0;  ///< sums of products of deviations from the pit's means
  double within_xy = 0;
  double within_yy = 0;
  double within_lateral_xx = 0;  ///< likewise from the lateral's means
  double within_lateral_xy = 0;
  double within_lateral_yy = 0;
  double total_yy = 0;  ///< from the mean of all
  int pits = 0;
};

enum class Grouping { laterals, pits_in_laterals };
/// Pits are a level of their own where both they and the laterals repeat.
Grouping grouping_of(std::span<const GroupedValue> values, PitLevel level);
NestedSums nested_sums(std::span<const GroupedValue> values, Grouping grouping);
/// One value for each pit: its mean, laterals numbered anew.
std::vector<GroupedValue> pit_means(const NestedSums& sums);

enum class FixedPart { mean, line };

/// Variances between laterals and pits over that within.
struct Ratios {
  double lateral = 0;
  double pit = 0;
};

struct GeneralisedFit {
  double residual_squares = 0;  ///< over the within variance of 1
  double log_determinant = 0;   ///< of the covariance and of the fixed part's information
  double degrees_of_freedom = 0;
  double intercept = 0;
  double slope = 0;
  double intercept_variance = 0;  ///< times the within variance
  double slope_variance = 0;
};
GeneralisedFit generalised_fit(const NestedSums& sums, FixedPart fixed, Ratios ratios);

/// At the best within variance for those ratios.
double profiled_log_likelihood(const GeneralisedFit& fit);
double log_likelihood(const GeneralisedFit& fit, double within_variance);

struct BestRatios {
  Ratios ratios;
  double log_likelihood = 0;
};
/// Over all ratios from zero; the pit's stays 0 when pits are no level. Searched on a grid of
/// logarithms, then refined, so that a second hill is not missed.
BestRatios best_ratios(const NestedSums& sums, FixedPart fixed, Grouping grouping);

/// Restricted log likelihood of variances as they are, and its best value when one is held.
struct Variances {
  double lateral = 0;
  double pit = 0;
  double within = 0;
};
double log_likelihood(const NestedSums& sums, FixedPart fixed, const Variances& variances);

enum class HeldLevel { lateral, pit };
double best_log_likelihood_holding(const NestedSums& sums, FixedPart fixed, Grouping grouping,
                                   HeldLevel held, double variance);

}  // namespace evendrip
