// SPDX-License-Identifier: Apache-2.0
#include "fitted_posterior.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evendrip {
namespace {

constexpr double least_sd = 1e-3;
constexpr double most_sd = 1;
constexpr double least_response = 0.02;
constexpr double most_response = 6.4;
constexpr std::size_t deviations = fitted_count - 1;  ///< the last parameter is the response
/// Scaled beta2 with shapes 2 and `tail`: s / (scale + s)^(2 + tail) at the deviation s.
struct DeviationPrior {
  double median = 0;
  double scale = 0;
  double tail = 0;
};

constexpr DeviationPrior light_tailed(double median) {
  return {median, median, 2};
}
constexpr DeviationPrior heavy_tailed(double median) {
  return {median, median / (1 + std::numbers::sqrt2), 1};
}

/// In the order of the fitted parameters.
constexpr std::array<DeviationPrior, deviations> priors = {
    heavy_tailed(0.015), heavy_tailed(0.015), heavy_tailed(0.015), heavy_tailed(0.015),
    light_tailed(0.05),  light_tailed(0.06),  light_tailed(0.06),  light_tailed(0.05)};

/// Share of a deviation in itself and its prior's scale: the slope of the prior's tail.
double share_of(const FittedVector& x, std::size_t which) {
  const double sd = std::exp(x[which]);
  return sd / (priors[which].scale + sd);
}

/// Standard deviations from the prior's median.
double response_off(const FittedVector& x, const ResponsePrior& prior) {
  return (x[deviations] - std::log(prior.median)) / prior.log_sd;
}

double log_prior(const FittedVector& x, const ResponsePrior& prior, PosteriorOf what) {
  const double off = response_off(x, prior);
  double sum = -0.5 * off * off;
  for (std::size_t i = 0; i < deviations; ++i) {
    sum += x[i] - (2 + priors[i].tail) * std::log(priors[i].scale + std::exp(x[i]));
    if (what == PosteriorOf::logarithms) sum += x[i];
  }
  return sum;
}

}  // namespace

bool is_part_of_water(std::size_t which) {
  const auto one = fitted_parameters[which];
  return one == &ConditionParameters::along || one == &ConditionParameters::own ||
         one == &ConditionParameters::group || one == &ConditionParameters::local;
}

bool is_part_of_soil(std::size_t which) {
  const auto one = fitted_parameters[which];
  return one == &ConditionParameters::soil_short || one == &ConditionParameters::soil_long;
}

double prior_median(std::size_t which) {
  return priors.at(which).median;
}

double least_fitted(std::size_t which) {
  return std::log(which == deviations ? least_response : least_sd);
}

double most_fitted(std::size_t which) {
  return std::log(which == deviations ? most_response : most_sd);
}

FittedVector fitted_of(const ConditionParameters& parameters) {
  FittedVector x{};
  for (std::size_t i = 0; i < fitted_count; ++i)
    x[i] = std::clamp(std::log(parameters.*fitted_parameters[i]), least_fitted(i), most_fitted(i));
  return x;
}

ConditionParameters parameters_at(const FittedVector& x, const ConditionParameters& others) {
  ConditionParameters p = others;
  for (std::size_t i = 0; i < fitted_count; ++i) p.*fitted_parameters[i] = std::exp(x[i]);
  return p;
}

double FittedPosterior::value_at(const FittedVector& x) const {
  const auto likelihood = model_.log_likelihood(parameters_at(x, others_), hole_weights_);
  return likelihood ? *likelihood + log_prior(x, model_.response_prior(), what_)
                    : impossible_posterior;
}

std::optional<PosteriorSlope> FittedPosterior::slope_at(const FittedVector& x) const {
  const auto likelihood = model_.slope_at(parameters_at(x, others_), hole_weights_);
  if (!likelihood) return {};
  const ResponsePrior& prior = model_.response_prior();
  PosteriorSlope out{likelihood->log_likelihood + log_prior(x, prior, what_), likelihood->slope,
                     likelihood->information};
  for (std::size_t i = 0; i < deviations; ++i) {
    const double share = share_of(x, i);
    const double power = 2 + priors[i].tail;
    out.slope[i] += 1 - power * share;
    if (what_ == PosteriorOf::logarithms) out.slope[i] += 1;
    out.curvature[i][i] += power * share * (1 - share);
  }
  out.slope[deviations] -= response_off(x, prior) / prior.log_sd;
  out.curvature[deviations][deviations] += 1 / (prior.log_sd * prior.log_sd);
  return out;
}

std::optional<double> log_integral(const FittedPosterior& posterior, const FittedVector& near_top) {
  const auto here = posterior.slope_at(near_top);
  if (!here) return {};
  constexpr auto n = static_cast<Eigen::Index>(fitted_count);
  Eigen::Matrix<double, n, n> curvature;
  Eigen::Vector<double, n> slope;
  for (std::size_t i = 0; i < fitted_count; ++i) {
    slope(static_cast<Eigen::Index>(i)) = here->slope[i];
    for (std::size_t j = 0; j < fitted_count; ++j)
      curvature(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = here->curvature[i][j];
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, n, n>> axes(curvature);
  double sum = here->value + 0.5 * n * std::log(2 * std::numbers::pi);
  for (Eigen::Index k = 0; k < n; ++k) {
    const double bend = std::max(1.0, axes.eigenvalues()(k));
    const double up = slope.dot(axes.eigenvectors().col(k));
    sum += 0.5 * (up * up / bend - std::log(bend));
  }
  return sum;
}

}  // namespace evendrip
