// SPDX-License-Identifier: Apache-2.0
#include "climb.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <vector>

namespace evendrip {
namespace {

constexpr int most_retreats = 8;       ///< of one step
constexpr double close_enough = 1e-5;  ///< gain foretold, in the logarithm of the posterior
constexpr double longest_step = 1.5;   ///< in logarithms of parameters

using Vector = Eigen::VectorXd;
using Matrix = Eigen::MatrixXd;

struct Step {
  Vector by;
  double foretold = 0;  ///< gain of the quadratic
};

/// Newton's step with its diagonal made heavier (Marquardt 1963, J. SIAM 11:431-441; from memory),
/// of the parameters that are not held at a bound.
Step damped_step(const PosteriorSlope& here, const FittedVector& x, double damping) {
  std::vector<Eigen::Index> free;
  for (std::size_t i = 0; i < fitted_count; ++i) {
    const bool held = (x[i] <= least_fitted(i) && here.slope[i] <= 0) ||
                      (x[i] >= most_fitted(i) && here.slope[i] >= 0);
    if (!held) free.push_back(static_cast<Eigen::Index>(i));
  }
  Step step{Vector::Zero(fitted_count), 0};
  if (free.empty()) return step;
  const auto n = static_cast<Eigen::Index>(free.size());
  Matrix curvature(n, n);
  Vector slope(n);
  for (Eigen::Index a = 0; a < n; ++a) {
    const auto i = static_cast<std::size_t>(free[static_cast<std::size_t>(a)]);
    slope(a) = here.slope[i];
    for (Eigen::Index b = 0; b < n; ++b)
      curvature(a, b) =
          here.curvature[i][static_cast<std::size_t>(free[static_cast<std::size_t>(b)])];
  }
  Matrix heavier = curvature;
  heavier.diagonal() = (1 + damping) * curvature.diagonal().array() + 1e-6;
  const Vector by = heavier.ldlt().solve(slope);
  for (Eigen::Index a = 0; a < n; ++a) {
    const auto i = static_cast<std::size_t>(free[static_cast<std::size_t>(a)]);
    const double to = std::clamp(x[i] + std::clamp(by(a), -longest_step, longest_step),
                                 least_fitted(i), most_fitted(i));
    step.by(free[static_cast<std::size_t>(a)]) = to - x[i];
  }
  double bend = 0;
  for (Eigen::Index a = 0; a < n; ++a)
    for (Eigen::Index b = 0; b < n; ++b)
      bend += step.by(free[static_cast<std::size_t>(a)]) * curvature(a, b) *
              step.by(free[static_cast<std::size_t>(b)]);
  for (Eigen::Index a = 0; a < n; ++a)
    step.foretold += slope(a) * step.by(free[static_cast<std::size_t>(a)]);
  step.foretold -= 0.5 * bend;
  return step;
}

}  // namespace

void climb_on(const FittedPosterior& posterior, Climb& climb, int steps) {
  auto here = posterior.slope_at(climb.x);
  ++climb.evaluations;
  if (!here) return;
  climb.value = here->value;
  for (int step = 0; step < steps && !climb.settled; ++step) {
    bool gained = false;
    for (int retreat = 0; retreat < most_retreats && !gained; ++retreat) {
      const Step next = damped_step(*here, climb.x, climb.damping);
      if (next.foretold < close_enough) {
        climb.settled = true;
        return;
      }
      FittedVector x = climb.x;
      for (std::size_t i = 0; i < fitted_count; ++i) x[i] += next.by(static_cast<Eigen::Index>(i));
      const double value = posterior.value_at(x);
      ++climb.evaluations;
      const double kept = (value - climb.value) / next.foretold;
      gained = kept > 0.05;
      if (gained) {
        climb.x = x;
        climb.value = value;
        climb.damping *= kept > 0.75 ? 0.2 : kept < 0.25 ? 4 : 1;
        here = posterior.slope_at(x);  // from the factor at hand
        if (!here) return;
      } else {
        climb.damping = 8 * std::max(climb.damping, 0.01);
      }
    }
    if (!gained) return;
  }
}

}  // namespace evendrip
