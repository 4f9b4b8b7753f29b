// SPDX-License-Identifier: Apache-2.0
// Plain bootstraps over emitters, as if they were independent and the plugged ones like the rest:
// percentile and bias-corrected accelerated limits (Efron 1987, J. Am. Stat. Assoc. 82:171-185).
// They stand beside the default to show how much they differ from it.
#pragma once

#include <array>
#include <cstdint>
#include <span>

#include "evendrip/uniformity/limits.hpp"

#include "lateral_resampling.hpp"

namespace evendrip {

struct PlainLimits {
  Limits percentile;
  Limits bca;
};

/// In the order of all_measures. Needs two emitters and a mean above 0.
std::array<PlainLimits, all_measures.size()> plain_limits(std::span<const LevelledEmitter> emitters,
                                                          double confidence, int draws,
                                                          std::uint64_t seed);

}  // namespace evendrip
