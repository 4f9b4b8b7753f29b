// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace evendrip::kriging {
namespace {

double sum_of_products(const std::vector<double>& a, const std::vector<double>& b, int n) {
  return kernels::dot(a.data(), b.data(), n);
}

}  // namespace

GlobalSystem::GlobalSystem(const Problem& problem) : problem_(problem) {
  const int n = problem.count();
  stride_ = padded_for_covariances(n);
  if (n == 0 || !(problem.covariance.at_zero > 0)) return;
  factor_.resize(size(n) * size(stride_));
  for (std::size_t j = 0; j < size(n); ++j) {
    double* column = factor_.data() + j * size(stride_);
    for (std::size_t i = 0; i < size(n); ++i)
      column[i] = distance2(problem.stretched[i], problem.stretched[j]);
    kernels::covariances(problem.covariance, column, column, stride_);
  }
  solvable_ = kernels::factor(factor_.data(), n, stride_, problem.smallest_pivot);
  if (!solvable_) return;
  std::vector<double> u(size(n), 1.0);
  dual_value_ = problem.residual;
  kernels::solve_lower(factor_.data(), n, stride_, u.data(), 1, n);
  kernels::solve_lower(factor_.data(), n, stride_, dual_value_.data(), 1, n);
  uu_ = sum_of_products(u, u, n);
  mean_ = sum_of_products(u, dual_value_, n) / uu_;
  for (std::size_t i = 0; i < size(n); ++i) dual_value_[i] -= mean_ * u[i];
  dual_one_ = u;
  kernels::solve_lower_transposed(factor_.data(), n, stride_, dual_one_.data(), 1, n);
  kernels::solve_lower_transposed(factor_.data(), n, stride_, dual_value_.data(), 1, n);
}

void GlobalSystem::predict(std::span<const Point> local, Workspace& workspace,
                           std::span<Outcome> out) const {
  std::fill(out.begin(), out.end(), Outcome{});
  if (!solvable_) return;
  const int n = problem_.count();
  const std::size_t stride = size(stride_);
  workspace.right.resize(stride * block);
  workspace.at_sample.resize(block);
  for (std::size_t k = 0; k < local.size(); ++k) {
    double* right = workspace.right.data() + k * stride;
    const Point here = problem_.stretch(local[k]);
    for (std::size_t i = 0; i < size(n); ++i) right[i] = distance2(problem_.stretched[i], here);
    std::fill(right + n, right + stride, 0.0);
    const auto nearest = std::min_element(right, right + n);
    const bool at_sample = *nearest <= same_place_m2;
    workspace.at_sample[k] = at_sample ? static_cast<int>(nearest - right) : -1;
    kernels::covariances(problem_.covariance, right, right, stride_);
    const double bias = 1 - kernels::dot(dual_one_.data(), right, n);
    out[k].prediction.value = problem_.mean + mean_ + kernels::dot(dual_value_.data(), right, n);
    out[k].prediction.variance = problem_.covariance.at_zero + bias * bias / uu_;
    out[k].reason = Reason::value;
  }
  kernels::solve_lower(factor_.data(), n, stride_, workspace.right.data(),
                       static_cast<int>(local.size()), stride_);
  for (std::size_t k = 0; k < local.size(); ++k) {
    const double* v = workspace.right.data() + k * stride;
    Prediction& prediction = out[k].prediction;
    prediction.variance = std::max(0.0, prediction.variance - kernels::dot(v, v, n));
    if (workspace.at_sample[k] >= 0)
      prediction = {problem_.samples.values[size(workspace.at_sample[k])], 0};
    if (!std::isfinite(prediction.value) || !std::isfinite(prediction.variance))
      out[k] = {{}, Reason::failed};
  }
}

std::vector<Outcome> GlobalSystem::leave_one_out() const {
  const int n = problem_.count();
  std::vector<Outcome> out(size(n));
  if (n < 2) {
    for (Outcome& outcome : out) outcome.reason = Reason::too_few;
    return out;
  }
  if (!solvable_) return out;
  // Rows of L^-1, a block of columns at a time; their squares add up to the diagonal of C^-1.
  std::vector<double> columns(size(stride_) * block);
  for (int first = 0; first < n; first += block) {
    const int width = std::min(block, n - first);
    std::fill(columns.begin(), columns.end(), 0.0);
    for (int k = 0; k < width; ++k) columns[size(k) * size(stride_) + size(first + k)] = 1;
    kernels::solve_lower(factor_.data(), n, stride_, columns.data(), width, stride_);
    for (int k = 0; k < width; ++k) {
      const double* column = columns.data() + size(k) * size(stride_);
      const std::size_t i = size(first + k);
      const double diagonal = kernels::dot(column, column, n) - dual_one_[i] * dual_one_[i] / uu_;
      const double error = dual_value_[i] / diagonal;
      const double variance = 1 / diagonal;
      if (std::isfinite(error) && variance > 0)
        out[i] = {{problem_.samples.values[i] - error, variance}, Reason::value};
    }
  }
  return out;
}

}  // namespace evendrip::kriging
