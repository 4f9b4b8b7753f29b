// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/neighbour_mean.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "evendrip/surface/fit_limits.hpp"

namespace evendrip {
namespace {

constexpr std::size_t fewest_values = 4;
constexpr double tail = 0.05;
constexpr double far_in_sd = 3.5;
constexpr double flank_in_sd = 1.75;
constexpr double most_odd = 0.4;
constexpr double half_in_sd = 0.6744897501960817;  ///< quartile of the normal distribution
constexpr std::array ranges{1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0, 256.0, 512.0};  ///< steps
constexpr double longest = 4;                             ///< range over the number of values
constexpr std::array shares{0.25, 0.5, 0.75, 0.9, 0.99};  ///< of the variance
constexpr double least_weight = 0.01;                     ///< over the greatest
constexpr double farthest = 12;                           ///< standard errors
constexpr int most_steps = 60;
constexpr double same = 1e-4;  ///< of a probability

/// What neighbours share of the variance, and its likeness after one step.
struct Likeness {
  double share = 0;
  double after_step = 0;
};

/// What is known of the mean where the likeness is known.
struct GivenLikeness {
  double log_weight = 0;  ///< restricted likelihood, the scale integrated out
  double mean = 0;
  double variance = 0;  ///< of the mean
  double worth = 0;     ///< independent values
  double weight = 0;
};

/// Kalman filter of the values and of a column of ones side by side, at a variance of 1.
GivenLikeness given(std::span<const double> values, const Likeness& likeness) {
  const double noise = 1 - likeness.share;
  double shared_variance = likeness.share;
  double shared = 0;
  double shared_one = 0;
  double log_determinant = 0;
  double ones = 0;
  double ones_values = 0;
  double squares = 0;
  double count = 0;
  for (const double value : values) {
    if (std::isfinite(value)) {
      const double variance = shared_variance + noise;
      const double off = value - shared;
      const double off_one = 1 - shared_one;
      log_determinant += std::log(variance);
      ones += off_one * off_one / variance;
      ones_values += off_one * off / variance;
      squares += off * off / variance;
      count += 1;
      const double gain = shared_variance / variance;
      shared += gain * off;
      shared_one += gain * off_one;
      shared_variance -= gain * shared_variance;
    }
    shared *= likeness.after_step;
    shared_one *= likeness.after_step;
    const double squared = likeness.after_step * likeness.after_step;
    shared_variance = squared * shared_variance + (1 - squared) * likeness.share;
  }
  const double left =
      std::max(std::numeric_limits<double>::min(), squares - ones_values * ones_values / ones);
  GivenLikeness result;
  result.mean = ones_values / ones;
  result.variance = left / (count - 1) / ones;
  result.worth = ones;
  result.log_weight = -0.5 * (log_determinant + std::log(ones) + (count - 1) * std::log(left));
  return result;
}

/// The mixture over likenesses.
class Mixture {
 public:
  Mixture(std::span<const double> values, double count) : freedom_(count - 1) {
    parts_.push_back(given(values, {}));
    std::vector<GivenLikeness> alike;
    for (const double range : ranges) {
      if (range > longest * count) break;
      for (const double share : shares)
        alike.push_back(given(values, {share, std::exp(-1 / range)}));
    }
    parts_.front().log_weight += std::log(static_cast<double>(alike.size()));
    parts_.insert(parts_.end(), alike.begin(), alike.end());
    weigh();
  }

  double mean() const { return mean_; }
  double worth() const {
    double log_sum = 0;
    for (const GivenLikeness& part : parts_) log_sum += part.weight * std::log(part.worth);
    return std::exp(log_sum);
  }

  /// By false position (Illinois: Dowell & Jarratt 1971, BIT 11:168-174, from memory).
  double quantile(double share) const {
    double low = mean_ - farthest * sd_;
    double high = mean_ + farthest * sd_;
    double off_low = below(low) - share;
    double off_high = below(high) - share;
    if (!(off_low < 0)) return low;
    if (!(off_high > 0)) return high;
    int side = 0;
    for (int k = 0; k < most_steps; ++k) {
      const double middle = (low * off_high - high * off_low) / (off_high - off_low);
      const double off = below(middle) - share;
      if (std::abs(off) < same) return middle;
      if (off < 0) {
        low = middle;
        off_low = off;
        if (side < 0) off_high *= 0.5;
        side = -1;
      } else {
        high = middle;
        off_high = off;
        if (side > 0) off_low *= 0.5;
        side = 1;
      }
    }
    return 0.5 * (low + high);
  }

 private:
  void weigh() {
    double most = -std::numeric_limits<double>::infinity();
    for (const GivenLikeness& part : parts_) most = std::max(most, part.log_weight);
    double sum = 0;
    for (GivenLikeness& part : parts_) part.weight = std::exp(part.log_weight - most);
    std::erase_if(parts_, [](const GivenLikeness& part) { return part.weight < least_weight; });
    for (const GivenLikeness& part : parts_) sum += part.weight;
    for (GivenLikeness& part : parts_) part.weight /= sum;
    for (const GivenLikeness& part : parts_) mean_ += part.weight * part.mean;
    double variance = 0;
    for (const GivenLikeness& part : parts_)
      variance += part.weight * (part.variance + (part.mean - mean_) * (part.mean - mean_));
    sd_ = std::sqrt(variance);
  }

  double below(double value) const {
    double sum = 0;
    for (const GivenLikeness& part : parts_)
      sum += part.weight * student_probability_below({part.mean, part.variance}, value, freedom_);
    return sum;
  }

  std::vector<GivenLikeness> parts_;
  double freedom_;
  double mean_ = 0;
  double sd_ = 0;
};

/// Shortest half of sorted values: its middle, and the standard deviation that it stands for.
struct Majority {
  double middle = 0;
  double sd = 0;
};
Majority majority_of(const std::vector<double>& sorted) {
  const std::size_t n = sorted.size();
  const std::size_t half = n / 2;
  std::size_t best = 0;
  for (std::size_t i = 0; i + half < n; ++i)
    if (sorted[i + half] - sorted[i] < sorted[best + half] - sorted[best]) best = i;
  const double few = 1 + 5.0 / (static_cast<double>(n) - 1);
  return {0.5 * (sorted[best] + sorted[best + half]),
          few * 0.5 * (sorted[best + half] - sorted[best]) / half_in_sd};
}

std::vector<double> sorted_values(std::span<const double> values) {
  std::vector<double> sorted;
  for (const double value : values)
    if (std::isfinite(value)) sorted.push_back(value);
  std::sort(sorted.begin(), sorted.end());
  return sorted;
}

std::vector<std::size_t> odd_among(std::span<const double> values,
                                   const std::vector<double>& sorted) {
  const Majority majority = majority_of(sorted);
  if (!(majority.sd > 0)) return {};
  std::vector<double> off;
  std::vector<bool> odd;
  for (const double value : values) {
    off.push_back((value - majority.middle) / majority.sd);
    odd.push_back(std::abs(off.back()) > far_in_sd);
  }
  const auto spread = [&](std::size_t from, std::size_t to) {
    if (odd[from] && off[from] * off[to] > 0 && std::abs(off[to]) > flank_in_sd) odd[to] = true;
  };
  for (std::size_t i = 1; i < off.size(); ++i) spread(i - 1, i);
  for (std::size_t i = off.size(); i-- > 1;) spread(i, i - 1);
  std::vector<std::size_t> result;
  for (std::size_t i = 0; i < odd.size(); ++i)
    if (odd[i]) result.push_back(i);
  if (static_cast<double>(result.size()) > most_odd * static_cast<double>(sorted.size())) return {};
  return result;
}

}  // namespace

OrderedMean mean_of_neighbours(std::span<const double> values) {
  OrderedMean result;
  std::vector<double> sorted = sorted_values(values);
  if (sorted.empty()) return result;
  result.known = sorted.size() >= fewest_values;
  std::vector<double> kept(values.begin(), values.end());
  if (result.known) result.odd = odd_among(values, sorted);
  for (const std::size_t i : result.odd) kept[i] = std::numeric_limits<double>::quiet_NaN();
  if (!result.odd.empty()) sorted = sorted_values(kept);
  const auto count = static_cast<double>(sorted.size());
  for (const double value : sorted) result.mean += value / count;
  result.lower_90 = result.upper_90 = result.mean;
  result.effective = result.known ? count : 1;
  if (!result.known || !(sorted.back() > sorted.front())) return result;
  for (double& value : kept) value -= result.mean;
  const Mixture mixture(kept, count);
  result.effective = std::min(count, mixture.worth());
  result.lower_90 = result.mean + mixture.quantile(tail);
  result.upper_90 = result.mean + mixture.quantile(1 - tail);
  result.mean += mixture.mean();
  return result;
}

}  // namespace evendrip
