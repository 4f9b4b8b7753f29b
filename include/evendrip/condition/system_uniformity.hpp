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
  double sd = 0;               ///< of one emitter about its segment
  double plugged = 0;          ///< those that are plugged by chance, and
  double seen = 1;             ///< of so many that were looked at: their share is Beta with both
  Clogging clogging;           ///< of each place; its share by chance is not used
  std::vector<double> passed;  ///< of each segment, emitters as made; empty: 1 everywhere
};

/// For each of the draws of the segments' delivery: a plugged share from its Beta distribution
/// (Jeffreys' prior, 0.5 to both counts), every emitter drawn, uniformity with the fractional
/// quarter rule. `emitters_per_plant` below 2: plants as emitters. Mean and percentiles over draws.
/// Streams split by draw.
ModelUniformity model_uniformity(const std::vector<std::vector<double>>& delivery_draws,
                                 const EmitterSegments& emitters, const EmitterSpread& spread,
                                 int emitters_per_plant, std::uint64_t seed);

}  // namespace evendrip
