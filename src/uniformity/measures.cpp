// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/measures.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

// Mean of the lowest quarter of a unit normal, in standard deviations below the mean: phi(z)/p.
constexpr double normal_low_quarter = 1.2711062907;

double share_of(std::size_t readings, double parts, QuarterRule rule) {
  const double share = static_cast<double>(readings) / parts;
  if (rule == QuarterRule::floor) return std::max(1.0, std::floor(share));
  return rule == QuarterRule::ceiling ? std::ceil(share) : share;
}

double mean_of_highest_eighth(std::span<const double> discharges, QuarterRule rule) {
  std::vector<double> sorted(discharges.begin(), discharges.end());
  std::sort(sorted.rbegin(), sorted.rend());
  const double count = share_of(sorted.size(), 8, rule);
  double sum = 0;
  double left = count;
  for (std::size_t i = 0; i < sorted.size() && left > 0; ++i, left -= 1) {
    sum += std::min(left, 1.0) * sorted[i];
  }
  return sum / count;
}

void require_above_zero(std::span<const double> times_s) {
  if (times_s.empty()) throw std::invalid_argument("there are no fill times");
  for (const double time_s : times_s) {
    if (!std::isfinite(time_s) || time_s <= 0) {
      throw std::invalid_argument("a fill time is not above 0");
    }
  }
}

/// Weight of each of the n order statistics in the mean of the lowest quarter.
std::vector<double> low_quarter_weights(int n, QuarterRule rule) {
  const double count = share_of(static_cast<std::size_t>(n), 4, rule);
  std::vector<double> weights;
  weights.reserve(static_cast<std::size_t>(n));
  for (int i = 0; i < count; ++i) weights.push_back(std::min(count - i, 1.0) / count);
  return weights;
}

/// Expected mean of the lowest quarter of n unit normals, by the density of the order statistics.
/// The trapezoid rule on a smooth function that vanishes at both ends is exact to rounding.
double expected_low_quarter(int n, QuarterRule rule) {
  const std::vector<double> weights = low_quarter_weights(n, rule);
  constexpr double step = 0.01;
  double sum = 0;
  for (int node = -900; node <= 900; ++node) {
    const double z = step * node;
    const double below = 0.5 * std::erfc(-z / std::numbers::sqrt2);
    const double above = 0.5 * std::erfc(z / std::numbers::sqrt2);
    const double density =
        std::exp(-0.5 * z * z) / std::sqrt(2 * std::numbers::pi) * static_cast<double>(n);
    // Binomial chance that i of the other n - 1 lie below, step by step in logarithms.
    double log_chance = static_cast<double>(n - 1) * std::log(above);
    for (std::size_t i = 0; i < weights.size(); ++i) {
      sum += step * z * weights[i] * density * std::exp(log_chance);
      const double others = static_cast<double>(n - 1) - static_cast<double>(i);
      if (others <= 0) break;
      log_chance += std::log(others / static_cast<double>(i + 1)) + std::log(below / above);
    }
  }
  return sum;
}

}  // namespace

double field_emission_uniformity(std::span<const double> discharges, QuarterRule rule) {
  return low_quarter_uniformity(discharges, rule);
}

double absolute_emission_uniformity(std::span<const double> discharges, QuarterRule rule) {
  const double mean = mean_of(discharges);
  if (mean == 0) return 0;
  return 0.5 * (low_quarter_uniformity(discharges, rule) +
                mean / mean_of_highest_eighth(discharges, rule));
}

double flow_variation(std::span<const double> discharges) {
  if (mean_of(discharges) == 0) return 0;
  const auto [least, largest] = std::minmax_element(discharges.begin(), discharges.end());
  return (*largest - *least) / *largest;
}

FillTimes measure_fill_times(std::span<const double> fill_times_s) {
  require_above_zero(fill_times_s);
  FillTimes times;
  times.emitters = static_cast<int>(fill_times_s.size());
  times.mean_s = mean_of(fill_times_s);
  times.cv = coefficient_of_variation(fill_times_s);
  times.statistical_frac = 1 - times.cv;
  times.sixths_known = times.emitters >= 6;
  if (times.sixths_known) times.sixths_frac = uniformity_from_sixths(fill_times_s);
  return times;
}

std::vector<double> discharges_of_fill_times(std::span<const double> fill_times_s,
                                             double container_ml) {
  require_above_zero(fill_times_s);
  if (!std::isfinite(container_ml) || container_ml <= 0) {
    throw std::invalid_argument("the volume of the container is not above 0");
  }
  std::vector<double> discharges_lph;
  for (const double time_s : fill_times_s) discharges_lph.push_back(3.6 * container_ml / time_s);
  return discharges_lph;
}

double low_quarter_flattery(int n, double cv, QuarterRule rule) {
  if (n < 1) throw std::invalid_argument("the sample is empty");
  if (!std::isfinite(cv) || cv < 0) throw std::invalid_argument("the CV is negative or not finite");
  // Falls as 1/n: beyond a thousand the integral is not worth its time.
  if (n > 1000) return low_quarter_flattery(1000, cv, rule) * 1000.0 / n;
  const double low = 1 + cv * expected_low_quarter(n, rule);
  // E(A/m) with cov(A, m) = var(m) = cv^2/n, as for any weighted order statistics of a normal.
  const double ratio = low + cv * cv / n * (low - 1);
  return ratio - (1 - normal_low_quarter * cv);
}

double corrected_low_quarter(std::span<const double> discharges, QuarterRule rule) {
  const double published = low_quarter_uniformity(discharges, rule);
  if (discharges.size() < 2) return published;  // one emitter has no CV to correct by
  const double cv = coefficient_of_variation(discharges);
  return std::max(0.0,
                  published - low_quarter_flattery(static_cast<int>(discharges.size()), cv, rule));
}

}  // namespace evendrip
