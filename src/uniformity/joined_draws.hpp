// SPDX-License-Identifier: Apache-2.0
// Draws of the measures of the whole: a plugged share joined with the studentised bootstrap of the
// emitters that run.
#pragma once

#include <array>
#include <cstdint>
#include <random>
#include <span>
#include <vector>

#include "evendrip/uniformity/limits.hpp"

#include "lateral_resampling.hpp"
#include "shapes_of_runners.hpp"

namespace evendrip {

using MeasureDraws = std::array<std::vector<double>, all_measures.size()>;

/// Pivots are taken on a scale of their own: of the shortfall, which ends at 1, the logit; of the
/// other shapes the logarithm itself.
double on_scale(Shape shape, double log_value);
double log_from_scale(Shape shape, double scaled);
double error_on_scale(Shape shape, const ShapeValue& value);

/// Measures of the whole from a plugged share and the logarithms of the four shapes of the runners.
std::array<double, all_measures.size()> measures_of_whole(
    double plugged_share, const std::array<double, shape_count>& log_shapes);

/// Draws of Beta(a, b); all 0 for a = 0, all 1 for b = 0.
std::vector<double> share_draws(double a, double b, int draws, std::mt19937_64& stream);

/// Draws of a share of which `count` were seen, beside `rest` others (effective numbers both): half
/// of them Beta(count + 1, rest), half Beta(count, rest + 1), so that their quantiles are mid-p
/// limits.
std::vector<double> middle_share_draws(double count, double rest, int draws,
                                       std::mt19937_64& stream);

/// What the runners were drawn from; 0 where not known, or so many that they do not count.
struct RunnersOfZone {
  double laterals = 0;
  double emitters = 0;  ///< that run, of all laterals
};

/// Draws of the confidence distribution of each measure. `shares` holds series of plugged shares,
/// all of one length; each bootstrap sample of the runners serves every series. The runners are
/// studentised at the plugged share that was seen, and what a draw moves there it moves at every
/// share; at a share of 0 they are studentised without plugged ones. Where the zone is known, what
/// a draw moves is shortened by the root of the part of the variance that is left: of variances B
/// between and W within laterals, B (1/m - 1/M) + W (1/n - 1/N) over B/m + W/n (Cochran 1977,
/// Sampling Techniques, chapter 10; Davison & Hinkley 1997, section 3.7; from memory). Needs two
/// runners with a mean above 0.
std::vector<MeasureDraws> join_draws(std::span<const LevelledEmitter> runners, double seen_share,
                                     std::span<const std::vector<double>> shares,
                                     std::uint64_t seed, const RunnersOfZone& zone = {});

/// The p quantile of draws, (n + 1) p by interpolation. Changes their order.
double quantile_of(std::vector<double>& draws, double p);

}  // namespace evendrip
