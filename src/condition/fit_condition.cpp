// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include "climb.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

constexpr int first_steps = 4;  ///< of each start
constexpr int most_steps = 40;  ///< of the best

/// The given start, one with more in the water's parts and one with more in the soil.
std::vector<FittedVector> starts_from(const FittedVector& start) {
  const auto moved = [&start](double water, double soil) {
    FittedVector x = start;
    for (std::size_t i = 0; i < fitted_count; ++i) {
      x[i] += is_part_of_water(i) ? water : is_part_of_soil(i) ? soil : 0;
      x[i] = std::clamp(x[i], least_fitted(i), most_fitted(i));
    }
    return x;
  };
  return {moved(0, 0), moved(1, -0.7), moved(-1.2, 0.7)};
}

}  // namespace

std::optional<ConditionFit> fit_condition(const ZoneModel& model, const ConditionParameters& start,
                                          std::span<const double> hole_weights, FitSearch search,
                                          const Work& work) {
  if (search == FitSearch::several_starts && model.coarser() != nullptr) {
    const auto few = fit_condition(*model.coarser(), start, hole_weights, search, work);
    if (!few) return {};
    auto fit = fit_condition(model, few->parameters, hole_weights, FitSearch::one_start, work);
    if (fit) fit->evaluations += few->evaluations;
    return fit;
  }
  const FittedVector first = fitted_of(start);
  const std::vector<FittedVector> starts =
      search == FitSearch::several_starts ? starts_from(first) : std::vector{first};
  const int steps_at_first = search == FitSearch::one_start ? most_steps : first_steps;
  std::vector<Climb> climbs(starts.size());
  // Patterns are worked out here and shared by the copies.
  const FittedPosterior posterior(model, start, hole_weights, PosteriorOf::parameters);
  posterior.value_at(first);
  const auto climb_from = [&](std::size_t i, int steps) {
    const auto own = std::make_unique<const ZoneModel>(model);
    climb_on(FittedPosterior(*own, start, hole_weights, PosteriorOf::parameters), climbs[i], steps);
  };
  for (std::size_t i = 0; i < starts.size(); ++i) climbs[i].x = starts[i];
  for_each_chunk(without_progress(work), starts.size(), 1,
                 [&](std::size_t begin, std::size_t end, int) {
                   for (std::size_t i = begin; i < end; ++i) climb_from(i, steps_at_first);
                 });
  const auto best = static_cast<std::size_t>(
      std::max_element(climbs.begin(), climbs.end(),
                       [](const Climb& a, const Climb& b) { return a.value < b.value; }) -
      climbs.begin());
  if (starts.size() > 1 && !climbs[best].settled) climb_from(best, most_steps);
  if (!(climbs[best].value > impossible_posterior)) return {};
  ConditionFit fit{parameters_at(climbs[best].x, start), climbs[best].value, 1, {}, {}};
  for (const Climb& climb : climbs) fit.evaluations += climb.evaluations;
  return fit;
}

}  // namespace evendrip
