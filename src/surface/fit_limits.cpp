// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/fit_limits.hpp"

#include <boost/math/distributions/students_t.hpp>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr double fewest_freedom = 4;
constexpr double largest_log_error = 2;

bool is_variance(const ParameterEstimate& estimate) {
  return estimate.name == "nugget" || estimate.name.ends_with(": variance");
}

}  // namespace

FitAssurance assurance_of(const SurfaceFit& fit) {
  FitAssurance assurance;
  if (fit.model.covariance.terms.empty()) assurance.target = Target::emitter;
  double whole = 0;
  double squares = 0;
  for (const ParameterEstimate& estimate : fit.parameters) {
    if (!is_variance(estimate)) continue;
    const double log_error = std::isfinite(estimate.log_error)
                                 ? std::min(estimate.log_error, largest_log_error)
                                 : largest_log_error;
    whole += estimate.value;
    squares += std::pow(estimate.value * log_error, 2);
  }
  assurance.freedom = squares > 0 ? std::max(fewest_freedom, 2 * whole * whole / squares)
                                  : std::numeric_limits<double>::infinity();
  return assurance;
}

PredictionLimits student_limits(const Prediction& prediction, double level, double freedom) {
  if (!std::isfinite(freedom)) return normal_limits(prediction, level);
  if (!(freedom > 0)) throw std::invalid_argument("degrees of freedom must be above 0");
  const PredictionLimits normal = normal_limits(prediction, level);
  const double reach = boost::math::quantile(boost::math::students_t(freedom), (1 + level) / 2) *
                       std::sqrt(prediction.variance);
  if (std::isnan(normal.lower)) return normal;
  return {prediction.value - reach, prediction.value + reach};
}

double student_probability_below(const Prediction& prediction, double threshold, double freedom) {
  const double normal = probability_below(prediction, threshold);
  if (!std::isfinite(freedom) || std::isnan(normal) || prediction.variance <= 0) return normal;
  if (!(freedom > 0)) throw std::invalid_argument("degrees of freedom must be above 0");
  return boost::math::cdf(boost::math::students_t(freedom),
                          (threshold - prediction.value) / std::sqrt(prediction.variance));
}

}  // namespace evendrip
