// SPDX-License-Identifier: Apache-2.0
#include "periodogram.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr std::size_t fewest_values = 16;
constexpr int nearest_neighbour = 2;  ///< steps of one over the span: a peak is two wide
constexpr int farthest_neighbour = 9;
constexpr int fewest_below = 3;
constexpr double lowest_neighbour = 1.5;  ///< below it the trend was taken out
constexpr double two_pi = 2 * std::numbers::pi;

}  // namespace

double Periodogram::Wave::amplitude() const {
  return std::hypot(cosine, sine);
}

Periodogram::Periodogram(std::vector<double> at_m, std::vector<double> values)
    : at_m_(std::move(at_m)), values_(std::move(values)) {
  if (at_m_.size() != values_.size())
    throw std::invalid_argument("places and values of a periodogram differ in number");
  if (at_m_.size() < fewest_values) return;
  const auto [first, last] = std::minmax_element(at_m_.begin(), at_m_.end());
  span_m_ = *last - *first;
}

Periodogram::Wave Periodogram::wave(double per_m) const {
  double cc = 0;
  double cs = 0;
  double ss = 0;
  double yc = 0;
  double ys = 0;
  for (std::size_t i = 0; i < at_m_.size(); ++i) {
    const double c = std::cos(two_pi * per_m * at_m_[i]);
    const double s = std::sin(two_pi * per_m * at_m_[i]);
    cc += c * c;
    cs += c * s;
    ss += s * s;
    yc += values_[i] * c;
    ys += values_[i] * s;
  }
  const double determinant = cc * ss - cs * cs;
  if (!(determinant > 1e-9 * (cc + ss) * (cc + ss))) return {};
  Wave wave;
  wave.cosine = (yc * ss - ys * cs) / determinant;
  wave.sine = (ys * cc - yc * cs) / determinant;
  wave.explained = wave.cosine * yc + wave.sine * ys;
  return wave;
}

double Periodogram::chance(double per_m, double highest_per_m) const {
  if (!(span_m_ > 0)) return 1;
  double sum = 0;
  int below = 0;
  int neighbours = 0;
  for (int step = nearest_neighbour; step <= farthest_neighbour; ++step) {
    const double lower = per_m - step / span_m_;
    const double upper = per_m + step / span_m_;
    if (lower >= lowest_neighbour / span_m_) {
      sum += wave(lower).explained;
      ++below;
      ++neighbours;
    }
    if (upper <= highest_per_m) {
      sum += wave(upper).explained;
      ++neighbours;
    }
  }
  if (below < fewest_below || !(sum > 0)) return 1;
  return std::pow(1 + wave(per_m).explained / sum, -neighbours);
}

double Periodogram::refined(double per_m) const {
  double best = per_m;
  double most = wave(per_m).explained;
  constexpr int steps = 20;
  for (int k = -steps; k <= steps; ++k) {
    const double tried = per_m + 0.5 * k / (steps * span_m_);
    const double power = tried > 0 ? wave(tried).explained : 0;
    if (power > most) {
      most = power;
      best = tried;
    }
  }
  return best;
}

Periodogram::Peak Periodogram::strongest(double lowest_per_m, double highest_per_m) const {
  Peak peak;
  if (!(span_m_ > 0) || !(highest_per_m > lowest_per_m)) return peak;
  const double step = 0.5 / span_m_;
  const int tried = static_cast<int>((highest_per_m - lowest_per_m) / step) + 1;
  double least = 1;
  for (int k = 0; k < tried; ++k) {
    const double p = chance(lowest_per_m + k * step, highest_per_m);
    if (p < least) {
      least = p;
      peak.per_m = lowest_per_m + k * step;
    }
  }
  if (!(least < 1)) return peak;
  peak.p = std::min(1.0, tried * least);
  peak.per_m = refined(peak.per_m);
  return peak;
}

Periodogram Periodogram::without(double per_m, double highest_per_m) const {
  Periodogram rest = *this;
  for (int overtone = 1; overtone * per_m <= highest_per_m; ++overtone) {
    const double frequency = overtone * per_m;
    const Wave found = rest.wave(frequency);
    for (std::size_t i = 0; i < at_m_.size(); ++i)
      rest.values_[i] -= found.cosine * std::cos(two_pi * frequency * at_m_[i]) +
                         found.sine * std::sin(two_pi * frequency * at_m_[i]);
  }
  return rest;
}

std::vector<double> without_parabola(std::span<const double> at_m, std::span<const double> values) {
  std::vector<double> rest(values.begin(), values.end());
  if (at_m.empty()) return rest;
  const auto [first, last] = std::minmax_element(at_m.begin(), at_m.end());
  const double middle = (*first + *last) / 2;
  const double half = std::max((*last - *first) / 2, 1e-12);
  // Gram-Schmidt on 1, t, t^2, twice for rounding.
  std::array<std::vector<double>, 3> basis;
  for (std::size_t k = 0; k < 3; ++k) {
    for (const double at : at_m)
      basis[k].push_back(std::pow((at - middle) / half, static_cast<double>(k)));
    const auto take_out = [&](std::vector<double>& from, const std::vector<double>& unit) {
      double part = 0;
      for (std::size_t i = 0; i < unit.size(); ++i) part += from[i] * unit[i];
      for (std::size_t i = 0; i < unit.size(); ++i) from[i] -= part * unit[i];
    };
    for (int twice = 0; twice < 2; ++twice)
      for (std::size_t j = 0; j < k; ++j) take_out(basis[k], basis[j]);
    double length = 0;
    for (const double b : basis[k]) length += b * b;
    if (!(length > 1e-9)) {
      basis[k].assign(at_m.size(), 0.0);
      continue;
    }
    for (double& b : basis[k]) b /= std::sqrt(length);
    take_out(rest, basis[k]);
  }
  return rest;
}

}  // namespace evendrip
