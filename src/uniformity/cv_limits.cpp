// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <stdexcept>

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/tools/toms748_solve.hpp>

#include "evendrip/uniformity/limits.hpp"

namespace evendrip {
namespace {

void require_cv(double cv, int n, double confidence) {
  if (n < 2) throw std::invalid_argument("fewer than two emitters have no CV");
  if (!std::isfinite(cv) || cv < 0) throw std::invalid_argument("the CV is negative or not finite");
  if (!(confidence > 0 && confidence < 1)) {
    throw std::invalid_argument("the confidence is not between 0 and 1");
  }
}

Limits limits_at(LimitMethod method, double cv) {
  Limits limits;
  limits.method = method;
  limits.approximation = method != LimitMethod::noncentral_t;
  limits.estimate = limits.lower = limits.upper = cv;
  limits.known = cv > 0;
  return limits;
}

// Beyond this t the series behind the noncentral t grow long and in the end fail.
constexpr double largest_series_t = 30;

/// Chance that a noncentral t lies below t, t above 0. For a large t as the mean, over the normal
/// part, of the chance that the chi part is large enough: a smooth function, for which the
/// trapezoid rule is exact to rounding.
double chance_below(double freedom, double delta, double t) {
  if (t < largest_series_t) return cdf(boost::math::non_central_t(freedom, delta), t);
  const boost::math::chi_squared_distribution<double> chi(freedom);
  const boost::math::normal normal;
  constexpr double step = 0.125;
  double sum = 0;
  for (int node = -68; node <= 68; ++node) {
    const double z = step * node;
    const double ratio = std::max(0.0, delta + z) / t;
    // Less than exp(-75) of many degrees of freedom lies this low, and the library overflows there.
    const bool nothing_below = freedom > 100 && ratio < 0.3;
    const double above = nothing_below ? 1 : cdf(complement(chi, freedom * ratio * ratio));
    sum += step * pdf(normal, z) * above;
  }
  return sum;
}

/// The noncentrality at which Student's t with `freedom` lies below `t` with chance `below`. The
/// caller sees to it that it is above 0.
double noncentrality(double freedom, double t, double below) {
  const auto excess = [&](double delta) { return chance_below(freedom, delta, t) - below; };
  double low = 0;
  double high = t + 1;
  while (excess(high) > 0) {
    low = high;
    high *= 1.5;
  }
  std::uintmax_t turns = 100;
  const auto found = boost::math::tools::toms748_solve(
      excess, low, high, boost::math::tools::eps_tolerance<double>(40), turns);
  return 0.5 * (found.first + found.second);
}

}  // namespace

Limits noncentral_t_cv_limits(double cv, int n, double confidence) {
  require_cv(cv, n, confidence);
  Limits limits = limits_at(LimitMethod::noncentral_t, cv);
  if (cv == 0) return limits;
  const double tail = 0.5 * (1 - confidence);
  const double root = std::sqrt(static_cast<double>(n));
  const double t = root / cv;
  limits.lower = root / noncentrality(n - 1, t, tail);
  const double central = cdf(boost::math::students_t(n - 1), t);
  if (central <= 1 - tail) {  // even a mean of 0 would not be out of reach
    limits.known = false;
    limits.upper = std::max(1.0, cv);
    return limits;
  }
  limits.upper = root / noncentrality(n - 1, t, 1 - tail);
  return limits;
}

Limits chi_square_cv_limits(double cv, int n, double confidence) {
  require_cv(cv, n, confidence);
  Limits limits = limits_at(LimitMethod::chi_square, cv);
  const double tail = 0.5 * (1 - confidence);
  const boost::math::chi_squared_distribution<double> chi(n - 1);
  limits.lower = cv * std::sqrt((n - 1) / quantile(complement(chi, tail)));
  limits.upper = cv * std::sqrt((n - 1) / quantile(chi, tail));
  return limits;
}

Limits large_sample_cv_limits(double cv, int n, double confidence) {
  require_cv(cv, n, confidence);
  Limits limits = limits_at(LimitMethod::large_sample, cv);
  const double z = quantile(boost::math::normal(), 0.5 + 0.5 * confidence);
  const double half = z * cv * std::sqrt((1 + 2 * cv * cv) / (2.0 * n));
  limits.lower = std::max(0.0, cv - half);
  limits.upper = cv + half;
  return limits;
}

}  // namespace evendrip
