// SPDX-License-Identifier: Apache-2.0
// Values along a line whose neighbours are alike, and how often limits of their mean hold it.
#pragma once

#include "evendrip/crop/neighbour_mean.hpp"

#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

#include "evendrip/base/median.hpp"
#include "evendrip/base/random.hpp"

namespace evendrip::invented {

/// First-order autoregression that makes up a share of the variance of 1; the rest is noise.
struct Likeness {
  double after_step = 0;
  double share = 1;
};

struct Promise {
  double held = 0;  ///< share of the trials whose limits hold the true mean, 0
  double median_width = 0;
};

/// `bad` values are higher by `by`.
inline Promise promise_kept(const Likeness& likeness, int count,
                            const std::vector<std::size_t>& bad, double by, int trials) {
  std::vector<double> widths;
  int held = 0;
  for (int trial = 0; trial < trials; ++trial) {
    std::mt19937_64 stream =
        item_stream(77, {static_cast<std::uint64_t>(trial), static_cast<std::uint64_t>(count)});
    std::normal_distribution<double> normal(0, 1);
    std::vector<double> series;
    double shared = normal(stream);
    for (int i = 0; i < count; ++i) {
      series.push_back(std::sqrt(likeness.share) * shared +
                       std::sqrt(1 - likeness.share) * normal(stream));
      shared = likeness.after_step * shared +
               std::sqrt(1 - likeness.after_step * likeness.after_step) * normal(stream);
    }
    for (const std::size_t i : bad) series[i] += by;
    const OrderedMean mean = mean_of_neighbours(series);
    if (mean.lower_90 <= 0 && mean.upper_90 >= 0) ++held;
    widths.push_back(mean.upper_90 - mean.lower_90);
  }
  return {static_cast<double>(held) / trials, median_of(std::move(widths))};
}

}  // namespace evendrip::invented
