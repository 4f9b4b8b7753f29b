// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace evendrip::kriging {
namespace {

constexpr int largest_small = 128;  ///< neighbours up to which the small factor is the faster one

}  // namespace

void LocalSystem::move_to(const Circle& circle, int spare) {
  search_.find_candidates(circle.centre, circle.radius_m, spare, candidates_);
  pairs_ready_ = false;
  stretched_.clear();
  for (const int sample : candidates_.samples)
    stretched_.push_back(problem_.stretched[size(sample)]);
}

bool LocalSystem::same_neighbours() const {
  if (neighbours_.size() != chosen_.positions.size()) return false;
  for (std::size_t i = 0; i < neighbours_.size(); ++i) {
    if (neighbours_[i] != candidates_.samples[size(chosen_.positions[i])]) return false;
  }
  return true;
}

void LocalSystem::remember_neighbours() {
  neighbours_.clear();
  for (const int position : chosen_.positions)
    neighbours_.push_back(candidates_.samples[size(position)]);
}

/// Covariances between all candidates, once for all places of the circle.
void LocalSystem::fill_pairs() {
  const std::size_t count = stretched_.size();
  pair_stride_ = padded_for_covariances(static_cast<int>(count));
  pairs_.resize(count * size(pair_stride_));
  for (std::size_t i = 0; i < count; ++i) {
    double* row = pairs_.data() + i * size(pair_stride_);
    const int filled = padded_for_covariances(static_cast<int>(i) + 1);
    for (std::size_t j = 0; j <= i; ++j) row[j] = distance2(stretched_[i], stretched_[j]);
    std::fill(row + i + 1, row + filled, 0.0);
    kernels::covariances(problem_.covariance, row, row, filled);
  }
  pairs_ready_ = true;
}

bool LocalSystem::refactor() {
  if (!pairs_ready_) fill_pairs();
  const int n = static_cast<int>(neighbours_.size());
  size_ = kernels::padded(n);
  const std::size_t stride = size(size_);
  factor_.assign(stride * stride, 0.0);
  u_.assign(stride, 0.0);
  t_.assign(stride, 0.0);
  for (std::size_t i = 0; i < size(n); ++i) {
    const double* row = pairs_.data() + size(chosen_.positions[i]) * size(pair_stride_);
    for (std::size_t j = 0; j <= i; ++j) factor_[j * stride + i] = row[size(chosen_.positions[j])];
    u_[i] = 1;
    t_[i] = problem_.residual[size(neighbours_[i])];
  }
  for (std::size_t i = size(n); i < stride; ++i)
    factor_[i * stride + i] = problem_.covariance.at_zero;
  const bool small = size_ <= largest_small;
  const double floor = problem_.smallest_pivot;
  if (!(problem_.covariance.at_zero > 0)) return false;
  if (small && !kernels::factor_small(factor_.data(), size_, size_, floor)) return false;
  if (!small && !kernels::factor(factor_.data(), size_, size_, floor)) return false;
  kernels::solve_small(factor_.data(), size_, size_, u_.data());
  kernels::solve_small(factor_.data(), size_, size_, t_.data());
  uu_ = kernels::dot(u_.data(), u_.data(), size_);
  mean_ = kernels::dot(u_.data(), t_.data(), size_) / uu_;
  for (std::size_t i = 0; i < stride; ++i) t_[i] -= mean_ * u_[i];
  return true;
}

Outcome LocalSystem::predict(Point local, int left_out) {
  search_.choose(candidates_, local, left_out, chosen_);
  if (chosen_.positions.empty() || static_cast<int>(chosen_.positions.size()) < search_.fewest())
    return {{}, Reason::too_few};
  if (chosen_.at_place >= 0) {
    const int sample = candidates_.samples[size(chosen_.at_place)];
    return {{problem_.samples.values[size(sample)], 0}, Reason::value};
  }
  if (!same_neighbours()) {
    remember_neighbours();
    factored_ = refactor();
  }
  if (!factored_) return {{}, Reason::failed};
  return solve(local);
}

Outcome LocalSystem::solve(Point local) {
  const std::size_t n = neighbours_.size();
  const int filled = padded_for_covariances(static_cast<int>(n));
  v_.resize(size(filled));
  if (problem_.isotropic) {
    for (std::size_t i = 0; i < n; ++i) v_[i] = chosen_.distance2_m2[size(chosen_.positions[i])];
  } else {
    const Point here = problem_.stretch(local);
    for (std::size_t i = 0; i < n; ++i)
      v_[i] = distance2(stretched_[size(chosen_.positions[i])], here);
  }
  std::fill(v_.begin() + static_cast<std::ptrdiff_t>(n), v_.end(), 0.0);
  kernels::covariances(problem_.covariance, v_.data(), v_.data(), filled);
  std::fill(v_.begin() + static_cast<std::ptrdiff_t>(n), v_.end(), 0.0);
  kernels::solve_small(factor_.data(), size_, size_, v_.data());
  const double value = problem_.mean + mean_ + kernels::dot(t_.data(), v_.data(), size_);
  const double bias = 1 - kernels::dot(u_.data(), v_.data(), size_);
  const double variance =
      problem_.covariance.at_zero - kernels::dot(v_.data(), v_.data(), size_) + bias * bias / uu_;
  if (!std::isfinite(value) || !std::isfinite(variance)) return {{}, Reason::failed};
  return {{value, std::max(0.0, variance)}, Reason::value};
}

}  // namespace evendrip::kriging
