// SPDX-License-Identifier: Apache-2.0
#include "likelihood_search.hpp"

#include "evendrip/kernels/dense.hpp"

#include <nlopt.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

namespace evendrip::likelihood {
namespace {

constexpr int most_rounds = 5;
constexpr int most_evaluations = 60;     ///< of one round
constexpr double close_enough = 1e-9;    ///< change of the logarithm of the likelihood
constexpr double settled = 1e-7;         ///< what a Newton step would still gain
constexpr double least_curvature = 0.1;  ///< of a logarithm: keeps steps in flat directions short
constexpr double no_likelihood = 1e8;    ///< stands for minus infinity, turned round

/// Factor of the information with flat directions held, lower triangle.
std::vector<double> held_factor(std::vector<double> information, int count) {
  for (int k = 0; k < count; ++k) {
    double& own = information[at(k, k, count)];
    own = std::max(own, 0.0) + least_curvature;
  }
  if (kernels::factor(information.data(), count, count, 0)) return information;
  std::vector<double> identity(size(count) * size(count));
  for (int k = 0; k < count; ++k) identity[at(k, k, count)] = 1;
  return identity;
}

/// One climb. x = origin + A z with A'IA about the identity.
class Climb {
 public:
  Climb(const Problem& problem, Numbers start, std::span<const Parameter> parameters,
        std::span<const Bounds> bounds, const Work& work)
      : problem_(problem),
        numbers_(std::move(start)),
        parameters_(parameters),
        bounds_(bounds),
        work_(work),
        count_(static_cast<int>(parameters.size())) {}

  std::optional<Optimum> run() {
    for (std::size_t k = 0; k < parameters_.size(); ++k) {
      const double offset = bounds_[k].offset;
      best_x_.push_back(std::log(value_of(numbers_, parameters_[k]) + offset));
      ends_.push_back({std::log(std::exp(bounds_[k].lower) + offset),
                       std::log(std::exp(bounds_[k].upper) + offset)});
    }
    const auto first = evaluate(best_x_);
    if (!first) return {};
    best_ = *first;
    bool converged = gain_of_a_step() < settled;
    for (int round = 0; round < most_rounds && !converged; ++round) {
      climb_once();
      converged = gain_of_a_step() < settled;
    }
    return Optimum{numbers_at(best_x_), best_, converged};
  }

 private:
  Numbers numbers_at(const std::vector<double>& x) const {
    Numbers numbers = numbers_;
    for (std::size_t k = 0; k < parameters_.size(); ++k) {
      const double value = std::exp(x[k]) - bounds_[k].offset;
      set_value(numbers, parameters_[k],
                std::clamp(value, std::exp(bounds_[k].lower), std::exp(bounds_[k].upper)));
    }
    return numbers;
  }

  /// With gradient and information by log(value + offset).
  std::optional<Evaluation> evaluate(const std::vector<double>& x) const {
    const Numbers numbers = numbers_at(x);
    auto evaluation = problem_.evaluate(numbers, parameters_, Want::information, work_);
    if (!evaluation) return {};
    const auto factor = [&](int k) {
      return 1 + bounds_[size(k)].offset / value_of(numbers, parameters_[size(k)]);
    };
    for (int k = 0; k < count_; ++k) {
      evaluation->gradient[size(k)] *= factor(k);
      for (int j = 0; j < count_; ++j) {
        evaluation->information[at(j, k, count_)] *= factor(k);
        evaluation->information[at(k, j, count_)] *= factor(k);
      }
    }
    return evaluation;
  }

  bool pushed_out(std::size_t k) const {
    constexpr double at_bound = 1e-9;
    const double slope = best_.gradient[k];
    return (best_x_[k] <= ends_[k].lower + at_bound && slope < 0) ||
           (best_x_[k] >= ends_[k].upper - at_bound && slope > 0);
  }

  double gain_of_a_step() const {
    std::vector<double> information = best_.information;
    std::vector<double> slope = best_.gradient;
    for (int k = 0; k < count_; ++k) {
      if (!pushed_out(size(k))) continue;
      slope[size(k)] = 0;
      for (int j = 0; j < count_; ++j)
        if (j != k) information[at(j, k, count_)] = information[at(k, j, count_)] = 0;
    }
    const std::vector<double> factor = held_factor(std::move(information), count_);
    kernels::solve_lower(factor.data(), count_, count_, slope.data(), 1, count_);
    return 0.5 * kernels::dot(slope.data(), slope.data(), count_);
  }

  std::vector<double> turned_back(const double* z) const {
    std::vector<double> step(z, z + count_);
    kernels::solve_lower_transposed(factor_.data(), count_, count_, step.data(), 1, count_);
    for (std::size_t k = 0; k < step.size(); ++k) step[k] += origin_[k];
    return step;
  }

  /// Minus the logarithm of the likelihood, and its slope in z.
  double objective(const std::vector<double>& z, std::vector<double>& slope) {
    const std::vector<double> x = turned_back(z.data());
    std::optional<Evaluation> evaluation;
    if (x == best_x_)
      evaluation = best_;
    else
      evaluation = evaluate(x);
    if (!evaluation) {
      std::fill(slope.begin(), slope.end(), 0.0);
      return no_likelihood;
    }
    if (evaluation->log_likelihood > best_.log_likelihood) {
      best_ = *evaluation;
      best_x_ = x;
    }
    if (!slope.empty()) {
      slope = evaluation->gradient;
      kernels::solve_lower(factor_.data(), count_, count_, slope.data(), 1, count_);
      for (double& value : slope) value = -value;
    }
    return -evaluation->log_likelihood;
  }

  /// Each not above 0 inside the bounds: twice as many as there are parameters.
  void constraints(double* out, const double* z, double* slopes) const {
    const std::vector<double> x = turned_back(z);
    for (std::size_t k = 0; k < x.size(); ++k) {
      out[2 * k] = ends_[k].lower - x[k];
      out[2 * k + 1] = x[k] - ends_[k].upper;
    }
    if (slopes == nullptr) return;
    for (int k = 0; k < count_; ++k) {
      std::vector<double> unit(size(count_));
      unit[size(k)] = 1;
      kernels::solve_lower(factor_.data(), count_, count_, unit.data(), 1, count_);
      for (int j = 0; j < count_; ++j) {
        slopes[2 * k * count_ + j] = -unit[size(j)];
        slopes[(2 * k + 1) * count_ + j] = unit[size(j)];
      }
    }
  }

  void climb_once() {
    origin_ = best_x_;
    factor_ = held_factor(best_.information, count_);
    nlopt::opt search(nlopt::LD_SLSQP, static_cast<unsigned>(count_));
    search.set_min_objective(
        [](const std::vector<double>& z, std::vector<double>& slope, void* self) {
          return static_cast<Climb*>(self)->objective(z, slope);
        },
        this);
    search.add_inequality_mconstraint(
        [](unsigned, double* out, unsigned, const double* z, double* slopes, void* self) {
          static_cast<Climb*>(self)->constraints(out, z, slopes);
        },
        this, std::vector<double>(2 * size(count_), 0.0));
    search.set_ftol_abs(close_enough);
    search.set_maxeval(most_evaluations);
    std::vector<double> z(size(count_));
    double least = 0;
    try {
      search.optimize(z, least);
    } catch (const nlopt::roundoff_limited&) {
      return;  // as far as the arithmetic goes; the best point is kept
    } catch (const std::runtime_error&) {
      return;  // the search gave up: the best point is kept, and is not called converged
    }
  }

  const Problem& problem_;
  Numbers numbers_;
  std::span<const Parameter> parameters_;
  std::span<const Bounds> bounds_;
  std::vector<Bounds> ends_;  ///< of log(value + offset)
  Work work_;
  int count_;
  std::vector<double> origin_;
  std::vector<double> factor_;
  std::vector<double> best_x_;
  Evaluation best_;
};

}  // namespace

std::optional<Optimum> maximise(const Problem& problem, const Numbers& start,
                                std::span<const Parameter> parameters,
                                std::span<const Bounds> bounds, const Work& work) {
  if (parameters.empty()) {
    auto evaluation = problem.evaluate(start, {}, Want::value, work);
    if (!evaluation) return {};
    return Optimum{start, std::move(*evaluation), true};
  }
  return Climb(problem, start, parameters, bounds, work).run();
}

}  // namespace evendrip::likelihood
