// SPDX-License-Identifier: Apache-2.0
// How even the whole system is by the estimate: every emitter of a zone, its own spread and its
// chance of being plugged drawn with it, beside what the dug sample alone says.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "evendrip/condition/clogging.hpp"

namespace evendrip {

/// Mean, standard error and 90 % limits.
struct Judged {
  double value = 0;
  double sd = 0;
  double lower_90 = 0;
  double upper_90 = 0;
};

/// A normal estimate of what is not below 0.
Judged judged(double value, double sd);

struct ModelUniformity {
  Judged emitters;    ///< low-quarter distribution uniformity, all emitters of the zone
  Judged plants;      ///< the same of running means over the emitters of a root zone
  double sample = 0;  ///< by the dug emitters alone; NaN for fewer than 4
  int draws = 0;      ///< 0: nothing was worked out
};

/// Emitters of a zone by lateral: segment of each, from the supply end.
using EmitterSegments = std::vector<std::vector<int>>;

struct EmitterSpread {
  double sd = 0;      ///< of one emitter about its segment
  Clogging clogging;  ///< of each place; its share by chance is the mean of what it may be
  double seen = 1;    ///< emitters that the share is known from
  std::vector<double> factors;  ///< of sd in each draw; empty: 1
  std::vector<double> passed;   ///< of each segment, emitters as made; empty: 1 everywhere
};

/// Of draws: mean, standard deviation and 90 % limits by percentiles (linear between the nearest
/// two); zeros where there is none.
Judged judged_by(std::vector<double> values);

/// The share that is plugged by chance as draw number `draw` of a stream has it: Beta with its mean
/// and the emitters that it is known from.
double drawn_share(const EmitterSpread& spread, std::uint64_t seed, std::size_t draw);

/// What a hole tells of how emitters vary.
struct SpreadDatum {
  int segment = 0;
  double value = 1;           ///< relative discharge
  double noise_variance = 0;  ///< of measuring alone
  double sound = 1;           ///< chance that its emitter is not plugged
};

/// Factors of `spread.sd`, one for each draw of the segments' r: the variance of emitters as made
/// is stated to two fifths (common practice, no source), which counts as so many holes, and scaled
/// inverse chi-squared given what the holes are off the draw (Gelman et al. 2013, Bayesian Data
/// Analysis, section 2.6, from memory). Streams split by draw.
std::vector<double> drawn_factors(const std::vector<std::vector<double>>& r_draws,
                                  std::span<const SpreadDatum> holes, const EmitterSpread& spread,
                                  std::uint64_t seed);

/// For each of the draws of the segments' delivery: its drawn_share(), every emitter drawn,
/// uniformity with the fractional quarter rule. `emitters_per_plant` below 2: plants as emitters.
/// Mean and percentiles over draws. Streams split by draw. Where the draws are those of a design of
/// the parameters (mixed_draws()), the 90 % limits held the uniformity of four in five zones drawn
/// from the model.
ModelUniformity model_uniformity(const std::vector<std::vector<double>>& delivery_draws,
                                 const EmitterSegments& emitters, const EmitterSpread& spread,
                                 int emitters_per_plant, std::uint64_t seed);

}  // namespace evendrip
