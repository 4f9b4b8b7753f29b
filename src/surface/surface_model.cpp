// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/surface_model.hpp"

#include "likelihood_profile.hpp"
#include "likelihood_search.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>
#include <stdexcept>
#include <tuple>
#include <utility>

namespace evendrip {
namespace {

using likelihood::Bounds;
using likelihood::Numbers;
using likelihood::Optimum;
using likelihood::Problem;

constexpr int fewest_beyond_trend = 8;
constexpr int fewest_for_each_parameter = 2;
constexpr double small_share = 0.05;      ///< of the variance: worth trying without
constexpr double same_likelihood = 1e-4;  ///< what a variance that vanished may still have gained
constexpr double at_bound = 1e-6;
constexpr double nothing_left = 1e-20;  ///< of the mean square of the values

/// So that no sum depends on the order in which emitters were dug up.
SurfaceObservations from_west_to_east(SurfaceObservations observations) {
  const auto key = [](const SurfaceObservation& o) {
    const Site site = o.sites.empty() ? Site{} : o.sites[0];
    return std::tuple(site.place.x, site.place.y, site.station_m, o.value, o.noise_variance,
                      o.sites.size());
  };
  std::stable_sort(
      observations.begin(), observations.end(),
      [&](const SurfaceObservation& a, const SurfaceObservation& b) { return key(a) < key(b); });
  return observations;
}

double mean_square(const SurfaceObservations& observations) {
  double sum = 0;
  for (const SurfaceObservation& observation : observations)
    sum += observation.value * observation.value;
  return sum / static_cast<double>(observations.size());
}

/// One fit from the data to the numbers.
class Fitting {
 public:
  Fitting(const SurfaceObservations& observations, const SurfaceModel& form,
          const FitOptions& options, const Work& work)
      : form_(form),
        options_(options),
        work_(without_progress(work)),
        problem_(from_west_to_east(observations), form.trend, form.known_mean) {
    if (problem_.dependent())
      throw std::invalid_argument("the terms of the trend do not differ at the measurements");
    variance_ = problem_.residual_variance();
    const double square = mean_square(observations);
    spent_ = !(variance_ > nothing_left * square);
    if (spent_) variance_ = square > 0 ? nothing_left * square : nothing_left;
  }

  SurfaceFit run() {
    const Optimum alone = trend_alone();
    if (form_.covariance.terms.empty()) return finished(alone, "");
    if (spent_) return finished(alone, "the trend alone: it explains every measurement");
    const Numbers numbers{form_.covariance, form_.nugget};
    const auto parameters = likelihood::parameters_of(numbers);
    const int free = problem_.count() - problem_.trend_terms();
    const int fewest = std::max(fewest_beyond_trend,
                                fewest_for_each_parameter * static_cast<int>(parameters.size()));
    if (free < fewest) return finished(alone, too_few(fewest));
    const auto bounds = likelihood::bounds_of(problem_, numbers, parameters, options_);
    const auto best = likelihood::best_of_starts(problem_, form_.trend, form_.known_mean, numbers,
                                                 parameters, bounds, options_, work_);
    if (!best)
      return finished(alone, "the trend alone: the measurements contradict the rest of the model");
    return judged(without_vanished(*best), alone);
  }

 private:
  std::string too_few(int fewest) const {
    return fmt::format(
        "the trend alone: {} measurements are too few to tell what neighbours share beyond it "
        "(at least {})",
        problem_.count(), fewest + problem_.trend_terms());
  }

  Optimum trend_alone() const {
    const Numbers start{{}, variance_};
    const auto parameters = likelihood::parameters_of(start);
    const std::vector<Bounds> bounds{likelihood::variance_bounds(variance_)};
    const auto optimum = likelihood::maximise(problem_, start, parameters, bounds, work_);
    if (!optimum)
      throw std::invalid_argument("a measurement has no weight: its variance would be 0");
    return *optimum;
  }

  /// The trend alone unless the rest is worth its parameters.
  SurfaceFit judged(const Optimum& optimum, const Optimum& alone) {
    const auto count = static_cast<double>(likelihood::parameters_of(optimum.numbers).size());
    const double gain = optimum.evaluation.log_likelihood - alone.evaluation.log_likelihood;
    if (optimum.numbers.covariance.terms.empty())
      return finished(alone, "the trend alone: beyond it neighbours share nothing");
    if (gain < count - 1)
      return finished(
          alone, fmt::format("the trend alone: that neighbours share anything beyond it explains "
                             "no more than chance would (log likelihood {:.2f} higher for {:.0f} "
                             "more numbers)",
                             gain, count - 1));
    return finished(optimum, "");
  }

  double shortest_m(const Numbers& numbers, int term) const {
    const auto parameters = likelihood::parameters_of(numbers);
    const auto bounds = likelihood::bounds_of(problem_, numbers, parameters, options_);
    for (std::size_t k = 0; k < parameters.size(); ++k)
      if (parameters[k].of.kind == CovarianceParameter::Kind::range &&
          parameters[k].of.term == term)
        return std::exp(bounds[k].lower);
    return 0;
  }

  /// A term that may be no more than noise: hardly any variance, or the shortest range.
  bool may_go(const Numbers& numbers, std::size_t t) const {
    const CovarianceTerm& term = numbers.covariance.terms[t];
    if (term.variance < small_share * variance_) return true;
    const double shortest = shortest_m(numbers, static_cast<int>(t));
    return shortest > 0 &&
           std::any_of(term.factors.begin(), term.factors.end(), [&](const CorrelationFactor& f) {
             return f.range_m <= shortest * (1 + at_bound);
           });
  }

  std::optional<Optimum> without_term(const Optimum& optimum, std::size_t t) const {
    Numbers numbers = optimum.numbers;
    if (numbers.nugget > 0) numbers.nugget += numbers.covariance.terms[t].variance;
    numbers.covariance.terms.erase(numbers.covariance.terms.begin() +
                                   static_cast<std::ptrdiff_t>(t));
    return at_least_as_good(numbers, optimum);
  }

  std::optional<Optimum> without_nugget(const Optimum& optimum) const {
    Numbers numbers = optimum.numbers;
    numbers.nugget = 0;
    return at_least_as_good(numbers, optimum);
  }

  std::optional<Optimum> at_least_as_good(const Numbers& start, const Optimum& optimum) const {
    const auto parameters = likelihood::parameters_of(start);
    const auto bounds = likelihood::bounds_of(problem_, start, parameters, options_);
    auto less = likelihood::maximise(problem_, start, parameters, bounds, work_);
    if (!less) return {};
    const double loss = optimum.evaluation.log_likelihood - less->evaluation.log_likelihood;
    return loss < same_likelihood ? less : std::nullopt;
  }

  std::optional<Optimum> without_one(const Optimum& optimum) {
    for (std::size_t t = 0; t < optimum.numbers.covariance.terms.size(); ++t) {
      if (!may_go(optimum.numbers, t)) continue;
      const std::string name = optimum.numbers.covariance.terms[t].name;
      if (auto less = without_term(optimum, t)) {
        remarks_.push_back("'" + name + "' vanished: the measurements do not need it");
        return less;
      }
    }
    if (!(optimum.numbers.nugget > 0) || optimum.numbers.nugget > small_share * variance_)
      return {};
    auto less = without_nugget(optimum);
    if (less) remarks_.emplace_back("no difference from emitter to emitter beyond what is known");
    return less;
  }

  Optimum without_vanished(Optimum optimum) {
    while (true) {
      std::optional<Optimum> less = without_one(optimum);
      if (!less) return optimum;
      optimum = std::move(*less);
    }
  }

  SurfaceFit finished(const Optimum& optimum, std::string why) {
    SurfaceFit fit;
    fit.model = form_;
    fit.model.covariance = optimum.numbers.covariance;
    fit.model.nugget = optimum.numbers.nugget;
    fit.coefficients = optimum.evaluation.coefficients;
    fit.coefficient_errors = optimum.evaluation.coefficient_errors;
    fit.log_likelihood = optimum.evaluation.log_likelihood;
    fit.observations = problem_.count();
    fit.converged = optimum.converged;
    fit.why = std::move(why);
    if (fit.why.empty()) fit.remarks = remarks_;
    add_parameters(optimum, fit);
    return fit;
  }

  void add_parameters(const Optimum& optimum, SurfaceFit& fit) const {
    const auto parameters = likelihood::parameters_of(optimum.numbers);
    if (parameters.empty()) return;
    const auto bounds = likelihood::bounds_of(problem_, optimum.numbers, parameters, options_);
    // Terms that went took a ratio of 1 with them: the information is that of these parameters.
    auto asked =
        problem_.evaluate(optimum.numbers, parameters, likelihood::Want::information, work_);
    if (!asked) return;
    const Optimum there{optimum.numbers, std::move(*asked), optimum.converged};
    const std::vector<double> errors = likelihood::log_errors(there, parameters, bounds);
    for (std::size_t k = 0; k < parameters.size(); ++k) {
      ParameterEstimate estimate;
      estimate.name = likelihood::to_text(optimum.numbers, parameters[k]);
      estimate.value = likelihood::value_of(optimum.numbers, parameters[k]);
      estimate.log_error = errors[k];
      const bool is_range =
          !parameters[k].is_nugget && parameters[k].of.kind == CovarianceParameter::Kind::range;
      if (is_range && options_.profile_ranges) {
        const auto limits =
            likelihood::profile_limits(problem_, there, parameters, bounds, k, errors[k], work_);
        estimate.lower = limits.lower;
        estimate.upper = limits.upper;
        estimate.has_limits = true;
      }
      if (!std::isfinite(errors[k]))
        fit.remarks.push_back("the likelihood is flat in '" + estimate.name +
                              "': the measurements hardly tell it");
      fit.parameters.push_back(estimate);
    }
  }

  const SurfaceModel& form_;
  const FitOptions& options_;
  Work work_;
  Problem problem_;
  double variance_ = 0;  ///< about the trend
  bool spent_ = false;   ///< the trend leaves nothing
  std::vector<std::string> remarks_;
};

}  // namespace

std::optional<LikelihoodValue> restricted_likelihood(const SurfaceObservations& observations,
                                                     const SurfaceModel& model, bool gradient) {
  const Problem problem(observations, model.trend, model.known_mean);
  const Numbers numbers{model.covariance, model.nugget};
  const auto want = gradient ? likelihood::Want::gradient : likelihood::Want::value;
  const auto evaluation =
      problem.evaluate(numbers, likelihood::parameters_of(numbers), want, Work{});
  if (!evaluation) return {};
  return LikelihoodValue{evaluation->log_likelihood, evaluation->gradient};
}

SurfaceFit fit_surface(const SurfaceObservations& observations, const SurfaceModel& form,
                       const FitOptions& options, const Work& work) {
  return Fitting(observations, form, options, work).run();
}

}  // namespace evendrip
