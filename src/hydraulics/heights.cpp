// SPDX-License-Identifier: Apache-2.0
#include "heights.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "evendrip/base/median.hpp"

namespace evendrip {
namespace {

constexpr double sd_per_median_deviation = 1.4826;  ///< of a normal distribution
constexpr double outlier_sds = 5;
constexpr double least_outlier_m = 1;
constexpr std::size_t fewest_pairs = 4;
constexpr double least_scatter_m = 0.01;  ///< residuals below it are never distrusted

std::optional<double> cell_height(const Raster& heights, int row, int column) {
  if (!heights.grid.contains_cell(row, column)) return {};
  const std::size_t i = heights.grid.index(row, column);
  if (!heights.has_value(i)) return {};
  return heights.values[i];
}

/// Off the median of opposite pairs; nothing where too few pairs are whole.
std::optional<double> deviation(const Raster& heights, int row, int column) {
  const auto own = cell_height(heights, row, column);
  if (!own) return {};
  std::array<double, 12> pairs{};
  std::size_t count = 0;
  for (int down = 0; down <= 2; ++down) {
    for (int right = down == 0 ? 1 : -2; right <= 2; ++right) {
      const auto a = cell_height(heights, row + down, column + right);
      const auto b = cell_height(heights, row - down, column - right);
      if (a && b) pairs[count++] = 0.5 * (*a + *b);
    }
  }
  if (count < fewest_pairs) return {};
  return *own - median_in_place(std::span(pairs).first(count));
}

double tricube(double share) {
  if (share >= 1) return 0;
  const double rest = 1 - share * share * share;
  return rest * rest * rest;
}

double bisquare(double share) {
  if (share >= 1) return 0;
  const double rest = 1 - share * share;
  return rest * rest;
}

}  // namespace

std::optional<double> nearest_height(const Raster& heights, Point p) {
  const Grid& grid = heights.grid;
  if (grid.cells() == 0) return {};
  const Cell at = cell_of(grid, p);
  const int row = std::clamp(at.row, 0, grid.rows - 1);
  const int column = std::clamp(at.column, 0, grid.columns - 1);
  std::optional<double> best;
  double nearest = std::numeric_limits<double>::infinity();
  const auto look = [&](int r, int c) {
    const auto height = cell_height(heights, r, c);
    if (!height) return;
    const double distance = distance_m(grid.centre(r, c), p);
    if (distance < nearest) {
      nearest = distance;
      best = height;
    }
  };
  for (int ring = 0; ring < std::max(grid.rows, grid.columns) && !best; ++ring) {
    for (int c = column - ring; c <= column + ring; ++c) {
      look(row - ring, c);
      look(row + ring, c);
    }
    for (int r = row - ring + 1; r < row + ring; ++r) {
      look(r, column - ring);
      look(r, column + ring);
    }
  }
  return best;
}

std::vector<HeightOutlier> height_outliers(const Raster& heights) {
  std::vector<HeightOutlier> all;
  std::vector<double> sizes;
  for (int row = 0; row < heights.grid.rows; ++row) {
    for (int column = 0; column < heights.grid.columns; ++column) {
      const auto off = deviation(heights, row, column);
      if (!off) continue;
      sizes.push_back(std::abs(*off));
      if (sizes.back() > least_outlier_m) all.push_back({{row, column}, *off});
    }
  }
  const double sd = sd_per_median_deviation * median_in_place(sizes);
  std::erase_if(all,
                [sd](const HeightOutlier& one) { return std::abs(one.off_m) <= outlier_sds * sd; });
  return all;
}

LocalLine::LocalLine(std::vector<double> stations_m, std::vector<double> values,
                     double half_window_m)
    : stations_(std::move(stations_m)),
      values_(std::move(values)),
      trust_(stations_.size(), 1.0),
      half_window_(half_window_m) {
  settle();
}

LocalLine::Fit LocalLine::fit(double station_m, std::span<const double> trust) const {
  const auto first = std::lower_bound(stations_.begin(), stations_.end(), station_m - half_window_);
  double s0 = 0;  // sums of weights, times distance, times distance squared
  double s1 = 0;
  double s2 = 0;
  double v0 = 0;  // of values
  double v1 = 0;
  double q0 = 0;  // of squared weights
  double q1 = 0;
  double q2 = 0;
  double own_weight = 0;
  for (auto i = static_cast<std::size_t>(first - stations_.begin());
       i < stations_.size() && stations_[i] <= station_m + half_window_; ++i) {
    const double d = stations_[i] - station_m;
    const double w = tricube(std::abs(d) / half_window_) * trust[i];
    s0 += w;
    s1 += w * d;
    s2 += w * d * d;
    v0 += w * values_[i];
    v1 += w * d * values_[i];
    q0 += w * w;
    q1 += w * w * d;
    q2 += w * w * d * d;
    if (d == 0) own_weight = w;
  }
  const double determinant = s0 * s2 - s1 * s1;
  if (determinant > 1e-9 * s0 * s0 * half_window_ * half_window_) {
    return {(s2 * v0 - s1 * v1) / determinant,
            (s2 * s2 * q0 - 2 * s1 * s2 * q1 + s1 * s1 * q2) / (determinant * determinant),
            s2 * own_weight / determinant};
  }
  if (s0 > 0) return {v0 / s0, q0 / (s0 * s0), own_weight / s0};
  return {};
}

void LocalLine::settle() {
  constexpr int rounds = 2;
  constexpr double distrusted_deviations = 6;
  std::vector<double> residuals(values_.size());
  const std::vector<double> even(values_.size(), 1.0);
  double noise_share = 0;
  double own_share = 0;
  for (int round = 0; round <= rounds; ++round) {
    noise_share = own_share = 0;
    for (std::size_t i = 0; i < values_.size(); ++i) {
      Fit here = fit(stations_[i], trust_);
      if (here.noise_share <= 0) here = fit(stations_[i], even);
      residuals[i] = values_[i] - here.value;
      noise_share += here.noise_share / static_cast<double>(values_.size());
      own_share += here.own_share / static_cast<double>(values_.size());
    }
    std::vector<double> sizes(residuals.size());
    std::transform(residuals.begin(), residuals.end(), sizes.begin(),
                   [](double r) { return std::abs(r); });
    const double deviation = median_in_place(sizes);
    // Residuals are smaller than the noise by what each sample says of itself.
    const double sample_sd = sd_per_median_deviation * deviation /
                             std::sqrt(std::max(0.1, 1 - 2 * own_share + noise_share));
    sd_ = sample_sd * std::sqrt(noise_share);
    if (round == rounds) return;
    const double limit = distrusted_deviations * std::max(deviation, least_scatter_m);
    for (std::size_t i = 0; i < values_.size(); ++i)
      trust_[i] = bisquare(std::abs(residuals[i]) / limit);
  }
}

double LocalLine::at(double station_m) const {
  const Fit trusted = fit(station_m, trust_);
  if (trusted.noise_share > 0) return trusted.value;
  return fit(station_m, std::vector<double>(values_.size(), 1.0)).value;
}

}  // namespace evendrip
