// SPDX-License-Identifier: Apache-2.0
#include "likelihood.hpp"

#include "evendrip/kernels/dense.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <stdexcept>

namespace evendrip::likelihood {
namespace {

constexpr double least_pivot_frac = 1e-13;  ///< of the largest variance
constexpr double least_own_part = 1e-9;     ///< of a trend column, beside the columns before it

}  // namespace

std::vector<Parameter> parameters_of(const Numbers& numbers) {
  std::vector<Parameter> parameters;
  for (const CovarianceParameter& parameter : evendrip::parameters_of(numbers.covariance))
    parameters.push_back({false, parameter});
  if (numbers.nugget > 0) parameters.push_back({true, {}});
  return parameters;
}

double value_of(const Numbers& numbers, const Parameter& parameter) {
  return parameter.is_nugget ? numbers.nugget : value_of(numbers.covariance, parameter.of);
}

void set_value(Numbers& numbers, const Parameter& parameter, double value) {
  if (parameter.is_nugget)
    numbers.nugget = value;
  else
    set_value(numbers.covariance, parameter.of, value);
}

std::string to_text(const Numbers& numbers, const Parameter& parameter) {
  return parameter.is_nugget ? "nugget" : to_text(numbers.covariance, parameter.of);
}

Problem::Problem(const SurfaceObservations& observations, const SurfaceTrend& trend,
                 double known_mean)
    : observations_(observations),
      count_(static_cast<int>(observations.size())),
      trend_terms_(static_cast<int>(trend.size())) {
  if (count_ <= trend_terms_)
    throw std::invalid_argument("there are not more measurements than trend terms");
  basis_.resize(size(count_) * size(trend_terms_));
  fill(trend, observations_, {basis_.data(), count_, trend_terms_, count_});
  bool points = true;
  for (const SurfaceObservation& observation : observations_) {
    double sum = 0;
    double squares = 0;
    for (const double weight : observation.weights) {
      sum += weight;
      squares += weight * weight;
    }
    values_.push_back(observation.value - (trend.empty() ? known_mean * sum : 0));
    noise_.push_back(observation.noise_variance);
    nugget_share_.push_back(squares);
    has_noise_ |= observation.noise_variance > 0;
    points &= observation.sites.size() == 1 && observation.weights[0] == 1;
  }
  if (points)
    for (const SurfaceObservation& observation : observations_)
      sites_.push_back(observation.sites[0]);
  orthonormalise();
}

// Gram-Schmidt, twice over, which is as good as reflections.
void Problem::orthonormalise() {
  const int n = count_;
  const int p = trend_terms_;
  triangle_.assign(size(p) * size(p), 0);
  for (int k = 0; k < p; ++k) {
    double* column = basis_.data() + at(0, k, n);
    const double whole = std::sqrt(kernels::dot(column, column, n));
    for (int round = 0; round < 2; ++round) {
      for (int j = 0; j < k; ++j) {
        const double* before = basis_.data() + at(0, j, n);
        const double part = kernels::dot(before, column, n);
        triangle_[at(j, k, p)] += part;
        for (int i = 0; i < n; ++i) column[i] -= part * before[i];
      }
    }
    const double rest = std::sqrt(kernels::dot(column, column, n));
    if (!(rest > least_own_part * whole)) {
      dependent_ = true;
      return;
    }
    triangle_[at(k, k, p)] = rest;
    for (int i = 0; i < n; ++i) column[i] /= rest;
  }
}

double Problem::residual_variance() const {
  std::vector<double> rest = values_;
  for (int k = 0; k < trend_terms_; ++k) {
    const double* column = basis_.data() + at(0, k, count_);
    const double part = kernels::dot(column, rest.data(), count_);
    for (int i = 0; i < count_; ++i) rest[size(i)] -= part * column[i];
  }
  return kernels::dot(rest.data(), rest.data(), count_) / (count_ - trend_terms_);
}

/// Rows from `first` on, columns from `first` on.
void Problem::fill_block(const CovarianceModel& model, int first, MatrixView out) const {
  const auto width = size(out.columns);
  if (!sites_.empty()) {
    const auto rows = std::span(sites_).subspan(size(first));
    fill(model, rows, rows.first(width), out);
  } else {
    const auto rows = std::span(observations_).subspan(size(first));
    fill(model, rows, rows.first(width), out);
  }
}

void Problem::fill_gradient_block(const CovarianceModel& model,
                                  const CovarianceParameter& parameter, int first,
                                  MatrixView out) const {
  const auto width = size(out.columns);
  if (!sites_.empty()) {
    const auto rows = std::span(sites_).subspan(size(first));
    fill_gradient(model, parameter, rows, rows.first(width), out);
  } else {
    const auto rows = std::span(observations_).subspan(size(first));
    fill_gradient(model, parameter, rows, rows.first(width), out);
  }
}

bool Problem::factor(const Numbers& numbers, std::vector<double>& lower, const Work& work) const {
  const int n = count_;
  lower.resize(size(n) * size(n));
  for_each_chunk(work, size(blocks_of(n)), 1, [&](std::size_t b, std::size_t, int) {
    const int first = static_cast<int>(b) * block;
    const int width = std::min(block, n - first);
    fill_block(numbers.covariance, first,
               {lower.data() + at(first, first, n), n - first, width, n});
  });
  double largest = 0;
  for (int i = 0; i < n; ++i) {
    double& variance = lower[at(i, i, n)];
    variance += numbers.nugget * nugget_share_[size(i)] + noise_[size(i)];
    largest = std::max(largest, variance);
  }
  return kernels::factor(lower.data(), n, n, least_pivot_frac * largest);
}

std::optional<Problem::Solved> Problem::solve(const Numbers& numbers, const Work& work) const {
  const int n = count_;
  const int p = trend_terms_;
  Solved solved;
  if (dependent_ || !factor(numbers, solved.lower, work)) return {};
  for (int i = 0; i < n; ++i) solved.log_determinant += 2 * std::log(solved.lower[at(i, i, n)]);
  solved.right = basis_;
  solved.right.insert(solved.right.end(), values_.begin(), values_.end());
  kernels::solve_lower(solved.lower.data(), n, n, solved.right.data(), p + 1, n);
  const auto column = [&](int k) { return solved.right.data() + at(0, k, n); };
  solved.gram.resize(size(p) * size(p));
  for (int j = 0; j < p; ++j) {
    for (int k = 0; k < p; ++k) solved.gram[at(j, k, p)] = kernels::dot(column(j), column(k), n);
    solved.estimate.push_back(kernels::dot(column(j), column(p), n));
  }
  if (p > 0) {
    if (!kernels::factor(solved.gram.data(), p, p, 0)) return {};
    for (int j = 0; j < p; ++j) solved.log_determinant += 2 * std::log(solved.gram[at(j, j, p)]);
    kernels::solve_lower(solved.gram.data(), p, p, solved.estimate.data(), 1, p);
    kernels::solve_lower_transposed(solved.gram.data(), p, p, solved.estimate.data(), 1, p);
  }
  for (int j = 0; j < p; ++j)
    for (int i = 0; i < n; ++i) column(p)[i] -= solved.estimate[size(j)] * column(j)[i];
  solved.quadratic = kernels::dot(column(p), column(p), n);
  if (!std::isfinite(solved.quadratic) || !std::isfinite(solved.log_determinant)) return {};
  return solved;
}

void Problem::add_coefficients(const Solved& solved, Evaluation& evaluation) const {
  const int p = trend_terms_;
  // R b = estimate, and the covariance of b is R^-1 (Q'V^-1 Q)^-1 R'^-1 = F'F with F = L_g^-1
  // R'^-1.
  std::vector<double> lower(size(p) * size(p));
  for (int j = 0; j < p; ++j)
    for (int k = 0; k <= j; ++k) lower[at(j, k, p)] = triangle_[at(k, j, p)];
  evaluation.coefficients = solved.estimate;
  if (p == 0) return;
  kernels::solve_lower_transposed(lower.data(), p, p, evaluation.coefficients.data(), 1, p);
  std::vector<double> factor(size(p) * size(p));
  for (int k = 0; k < p; ++k) factor[at(k, k, p)] = 1;
  kernels::solve_lower(lower.data(), p, p, factor.data(), p, p);
  kernels::solve_lower(solved.gram.data(), p, p, factor.data(), p, p);
  for (int k = 0; k < p; ++k) {
    const double* column = factor.data() + at(0, k, p);
    evaluation.coefficient_errors.push_back(std::sqrt(kernels::dot(column, column, p)));
  }
}

std::optional<Evaluation> Problem::evaluate(const Numbers& numbers,
                                            std::span<const Parameter> parameters, Want want,
                                            const Work& work) const {
  const auto solved = solve(numbers, work);
  if (!solved) return {};
  Evaluation evaluation;
  evaluation.quadratic = solved->quadratic;
  evaluation.log_likelihood = -0.5 * ((count_ - trend_terms_) * std::log(2 * std::numbers::pi) +
                                      solved->log_determinant + solved->quadratic);
  add_coefficients(*solved, evaluation);
  if (want != Want::value) add_derivatives(numbers, parameters, want, *solved, evaluation, work);
  return evaluation;
}

}  // namespace evendrip::likelihood
