// SPDX-License-Identifier: Apache-2.0
#include "likelihood_profile.hpp"

#include "evendrip/kernels/dense.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>
#include <utility>

namespace evendrip::likelihood {
namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();
constexpr double at_bound = 1e-6;
constexpr double flat_error = 4;       ///< of a logarithm: more than a factor of 50 either way
constexpr double threshold = 3.8415;   ///< 95 % point of chi-squared with one degree of freedom
constexpr double beyond_bound = 2.5;   ///< how far past the bounds limits are sought, logarithm
constexpr double close_enough = 1e-4;  ///< of a logarithm
constexpr int most_steps = 60;

/// Rows and columns of the information that can be inverted.
std::vector<int> firm_parameters(const Optimum& optimum, std::span<const Parameter> parameters,
                                 std::span<const Bounds> bounds) {
  const int count = static_cast<int>(parameters.size());
  std::vector<int> firm;
  for (int k = 0; k < count; ++k) {
    const double x = std::log(value_of(optimum.numbers, parameters[size(k)]));
    const bool inside =
        x > bounds[size(k)].lower + at_bound && x < bounds[size(k)].upper - at_bound;
    const double own = optimum.evaluation.information[at(k, k, count)];
    if (inside && own > 1 / (flat_error * flat_error)) firm.push_back(k);
  }
  return firm;
}

/// The profile of one parameter.
class Profile {
 public:
  Profile(const Problem& problem, const Optimum& optimum, std::span<const Parameter> parameters,
          std::span<const Bounds> bounds, std::size_t which, const Work& work)
      : problem_(problem),
        work_(work),
        highest_(optimum.evaluation.log_likelihood),
        parameter_(parameters[which]),
        others_(parameters.begin(), parameters.end()),
        other_bounds_(bounds.begin(), bounds.end()) {
    others_.erase(others_.begin() + static_cast<std::ptrdiff_t>(which));
    other_bounds_.erase(other_bounds_.begin() + static_cast<std::ptrdiff_t>(which));
  }

  /// From the optimum toward `end`: where the threshold is crossed, or nothing.
  std::optional<double> crossing(Numbers from, double end, double step) const {
    double inside = std::log(value_of(from, parameter_));
    double inside_excess = -threshold;
    while (inside != end) {
      const double next =
          end > inside ? std::min(inside + step, end) : std::max(inside - step, end);
      Numbers there = from;
      const double excess = excess_at(next, there);
      if (excess > 0) return between(inside, inside_excess, next, excess, from);
      inside = next;
      inside_excess = excess;
      from = there;
    }
    return {};
  }

 private:
  /// Twice the fall of the logarithm of the likelihood less the threshold; `numbers` moves along.
  double excess_at(double x, Numbers& numbers) const {
    set_value(numbers, parameter_, std::exp(x));
    const auto optimum = maximise(problem_, numbers, others_, other_bounds_, work_);
    if (!optimum) return std::numeric_limits<double>::infinity();
    numbers = optimum->numbers;
    return 2 * (highest_ - optimum->evaluation.log_likelihood) - threshold;
  }

  /// False position kept from stalling by halving (Illinois), by bisection beside a missing value.
  double between(double inside, double inside_excess, double outside, double outside_excess,
                 Numbers numbers) const {
    int same_side = 0;
    for (int step = 0; step < most_steps && std::abs(outside - inside) > close_enough; ++step) {
      const double share =
          std::isfinite(outside_excess) ? inside_excess / (inside_excess - outside_excess) : 0.5;
      const double x = std::lerp(inside, outside, std::clamp(share, 0.02, 0.98));
      Numbers there = numbers;
      const double excess = excess_at(x, there);
      if (excess > 0) {
        outside = x;
        outside_excess = excess;
        if (--same_side < -1) inside_excess /= 2;
        same_side = std::min(same_side, -1);
      } else {
        inside = x;
        inside_excess = excess;
        numbers = there;
        if (++same_side > 1) outside_excess /= 2;
        same_side = std::max(same_side, 1);
      }
      if (std::abs(excess) < close_enough) return x;
    }
    return inside;
  }

  const Problem& problem_;
  Work work_;
  double highest_;
  Parameter parameter_;
  std::vector<Parameter> others_;
  std::vector<Bounds> other_bounds_;
};

}  // namespace

std::vector<double> log_errors(const Optimum& optimum, std::span<const Parameter> parameters,
                               std::span<const Bounds> bounds) {
  const int count = static_cast<int>(parameters.size());
  std::vector<double> errors(parameters.size(), none);
  const std::vector<int> firm = firm_parameters(optimum, parameters, bounds);
  const int m = static_cast<int>(firm.size());
  std::vector<double> factor(size(m) * size(m));
  for (int j = 0; j < m; ++j)
    for (int k = 0; k < m; ++k)
      factor[at(j, k, m)] = optimum.evaluation.information[at(firm[size(j)], firm[size(k)], count)];
  if (m == 0 || !kernels::factor(factor.data(), m, m, 0)) return errors;
  for (int k = 0; k < m; ++k) {
    std::vector<double> unit(size(m));
    unit[size(k)] = 1;
    kernels::solve_lower(factor.data(), m, m, unit.data(), 1, m);
    const double error = std::sqrt(kernels::dot(unit.data(), unit.data(), m));
    if (error < flat_error) errors[size(firm[size(k)])] = error;
  }
  return errors;
}

ProfileLimits profile_limits(const Problem& problem, const Optimum& optimum,
                             std::span<const Parameter> parameters, std::span<const Bounds> bounds,
                             std::size_t which, double log_error, const Work& work) {
  const Profile profile(problem, optimum, parameters, bounds, which, work);
  const double step = std::isfinite(log_error) ? std::clamp(log_error, 0.1, 1.0) : 0.5;
  const double end_below = bounds[which].lower - beyond_bound;
  const double end_above = bounds[which].upper + beyond_bound;
  const auto below = profile.crossing(optimum.numbers, end_below, step);
  const auto above = profile.crossing(optimum.numbers, end_above, step);
  return {below ? std::exp(*below) : 0,
          above ? std::exp(*above) : std::numeric_limits<double>::infinity()};
}

}  // namespace evendrip::likelihood
