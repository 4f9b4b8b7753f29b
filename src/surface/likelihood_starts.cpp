// SPDX-License-Identifier: Apache-2.0
#include "likelihood_search.hpp"

#include "evendrip/base/random.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numeric>
#include <random>

namespace evendrip::likelihood {
namespace {

constexpr std::size_t few = 300;   ///< observations: all are used throughout
constexpr std::size_t some = 100;  ///< of more: with so many the starts are looked at
constexpr int looks_for_each_start = 4;
constexpr std::size_t climbers = 3;
constexpr int scan_points = 10;      ///< of each range
constexpr double worth_a_climb = 3;  ///< log likelihood below the best

/// Uniform in [0, 1), the same on every machine.
double draw(std::mt19937_64& stream) {
  return static_cast<double>(stream() >> 11U) * 0x1.0p-53;
}

bool is_variance(const Parameter& parameter) {
  return parameter.is_nugget || parameter.of.kind == CovarianceParameter::Kind::variance;
}

bool is_range(const Parameter& parameter) {
  return !parameter.is_nugget && parameter.of.kind == CovarianceParameter::Kind::range;
}

/// A seeded choice of observations; all when they are few.
SurfaceObservations some_of(const SurfaceObservations& observations, std::size_t trend_terms,
                            std::uint64_t seed) {
  const std::size_t most = std::max(some, 4 * trend_terms);
  if (observations.size() <= std::max(few, most)) return observations;
  std::vector<std::size_t> order(observations.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::mt19937_64 stream = item_stream(seed, {0});
  for (std::size_t i = 0; i < most; ++i) {
    const auto rest = static_cast<double>(order.size() - i);
    std::swap(order[i], order[i + static_cast<std::size_t>(draw(stream) * rest)]);
  }
  order.resize(most);
  std::sort(order.begin(), order.end());
  SurfaceObservations chosen;
  for (const std::size_t i : order) chosen.push_back(observations[i]);
  return chosen;
}

struct Look {
  Numbers numbers;
  double log_likelihood = -std::numeric_limits<double>::infinity();
};

void sort_best_first(std::vector<Look>& looks) {
  std::stable_sort(looks.begin(), looks.end(), [](const Look& a, const Look& b) {
    return a.log_likelihood > b.log_likelihood;
  });
}

/// The starts of one fit, looked at and climbed from. Each look is worked on by one thread and
/// draws from a stream of its own.
class Starts {
 public:
  Starts(std::span<const Parameter> parameters, std::span<const Bounds> bounds,
         const FitOptions& options, const Work& work)
      : parameters_(parameters), bounds_(bounds), options_(options), work_(work) {}

  /// Where climbs on this problem ended, the best first.
  std::vector<Look> climbed(const Problem& problem, const Numbers& form) const {
    std::vector<Look> looks(size(std::max(options_.starts, 1) * looks_for_each_start));
    const double variance = problem.residual_variance();
    for (std::size_t i = 0; i < looks.size(); ++i)
      looks[i].numbers = drawn(form, variance, item_stream(options_.seed, {1, i}));
    looks[0].numbers = form;
    look_at(problem, looks);
    const Look first = looks[0];
    looks.erase(looks.begin());
    sort_best_first(looks);
    looks.resize(std::min(climbers, size(std::max(options_.starts, 1))));
    looks.push_back(first);
    climb(problem, looks);
    sort_best_first(looks);
    std::vector<Look> more = scanned(problem, looks[0]);
    climb(problem, more);
    looks.insert(looks.end(), more.begin(), more.end());
    sort_best_first(looks);
    return looks;
  }

  void evaluate(const Problem& problem, std::vector<Look>& looks) const {
    for_each(looks, [&](Look& look, const Work& alone) {
      const auto evaluation = problem.evaluate(look.numbers, {}, Want::value, alone);
      look.log_likelihood = evaluation ? evaluation->log_likelihood : Look{}.log_likelihood;
    });
  }

 private:
  template <typename Body>
  void for_each(std::vector<Look>& looks, const Body& body) const {
    Work alone = without_progress(work_);
    alone.threads = 1;
    for_each_chunk(without_progress(work_), looks.size(), 1,
                   [&](std::size_t i, std::size_t, int) { body(looks[i], alone); });
  }

  Numbers drawn(const Numbers& form, double variance, std::mt19937_64 stream) const {
    Numbers numbers = form;
    for (std::size_t k = 0; k < parameters_.size(); ++k) {
      const double u = draw(stream);
      const double value = is_variance(parameters_[k])
                               ? variance * std::max(u * u, 1e-3)
                               : std::exp(std::lerp(bounds_[k].lower, bounds_[k].upper, u));
      set_value(numbers, parameters_[k], value);
    }
    return numbers;
  }

  /// Inside the bounds, the variances multiplied by `factor`.
  Numbers scaled(Numbers numbers, double factor) const {
    for (std::size_t k = 0; k < parameters_.size(); ++k) {
      const double log_factor = is_variance(parameters_[k]) ? std::log(factor) : 0;
      const double log_value = std::log(value_of(numbers, parameters_[k])) + log_factor;
      set_value(numbers, parameters_[k],
                std::exp(std::clamp(log_value, bounds_[k].lower, bounds_[k].upper)));
    }
    return numbers;
  }

  /// With the scale of the variances at its best: exact without noise that is known, and with it a
  /// better start all the same.
  void look_at(const Problem& problem, std::vector<Look>& looks) const {
    for_each(looks, [&](Look& look, const Work& alone) {
      look.numbers = scaled(look.numbers, 1);
      const auto before = problem.evaluate(look.numbers, {}, Want::value, alone);
      if (!before) return;
      look.log_likelihood = before->log_likelihood;
      const double factor = before->quadratic / (problem.count() - problem.trend_terms());
      if (!(factor > 0)) return;
      const Numbers numbers = scaled(look.numbers, std::max(factor, 1e-3));
      const auto after = problem.evaluate(numbers, {}, Want::value, alone);
      if (after && after->log_likelihood > look.log_likelihood)
        look = {numbers, after->log_likelihood};
    });
  }

  void climb(const Problem& problem, std::vector<Look>& looks) const {
    for_each(looks, [&](Look& look, const Work& alone) {
      const auto optimum = maximise(problem, look.numbers, parameters_, bounds_, alone);
      if (optimum) look = {optimum->numbers, optimum->evaluation.log_likelihood};
    });
  }

  /// Likelihoods of ranges often have several tops: those that show along each range, the other
  /// numbers held but for their scale, and are not far below the best.
  std::vector<Look> scanned(const Problem& problem, const Look& best) const {
    std::vector<Look> tops;
    for (std::size_t k = 0; k < parameters_.size(); ++k) {
      if (!is_range(parameters_[k])) continue;
      std::vector<Look> line(size(scan_points), best);
      const double step = (bounds_[k].upper - bounds_[k].lower) / (scan_points - 1);
      for (int i = 0; i < scan_points; ++i)
        set_value(line[size(i)].numbers, parameters_[k], std::exp(bounds_[k].lower + step * i));
      for (Look& look : line) look.log_likelihood = Look{}.log_likelihood;
      look_at(problem, line);
      const double here = std::log(value_of(best.numbers, parameters_[k]));
      for (int i = 0; i < scan_points; ++i) {
        const double value = line[size(i)].log_likelihood;
        const bool top = (i == 0 || value > line[size(i - 1)].log_likelihood) &&
                         (i + 1 == scan_points || value >= line[size(i + 1)].log_likelihood);
        const bool another = std::abs(bounds_[k].lower + step * i - here) > 0.3 * step;
        if (top && another && value > best.log_likelihood - worth_a_climb)
          tops.push_back(line[size(i)]);
      }
    }
    return tops;
  }

  std::span<const Parameter> parameters_;
  std::span<const Bounds> bounds_;
  const FitOptions& options_;
  Work work_;
};

}  // namespace

std::optional<Optimum> best_of_starts(const Problem& problem, const SurfaceTrend& trend,
                                      double known_mean, const Numbers& form,
                                      std::span<const Parameter> parameters,
                                      std::span<const Bounds> bounds, const FitOptions& options,
                                      const Work& work) {
  const Starts starts(parameters, bounds, options, work);
  const Problem chosen(some_of(problem.observations(), trend.size(), options.seed), trend,
                       known_mean);
  const bool all = chosen.count() == problem.count() || chosen.dependent();
  std::vector<Look> looks = starts.climbed(all ? problem : chosen, form);
  if (!all) {
    starts.evaluate(problem, looks);
    sort_best_first(looks);
  }
  if (!std::isfinite(looks[0].log_likelihood)) return {};
  return maximise(problem, looks[0].numbers, parameters, bounds, without_progress(work));
}

}  // namespace evendrip::likelihood
