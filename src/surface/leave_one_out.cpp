// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include "evendrip/surface/estimators.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

/// Means over the samples that could be predicted.
void summarise(const Samples& samples, LeaveOneOut& check) {
  double n = 0, errors = 0, squares = 0, z2 = 0, with_variance = 0;
  double observed = 0, predicted = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    if (!std::isfinite(check.predicted[i])) continue;
    const double error = samples[i].value - check.predicted[i];
    n += 1;
    errors += error;
    squares += error * error;
    observed += samples[i].value;
    predicted += check.predicted[i];
    if (!(check.variance[i] > 0)) continue;
    z2 += error * error / check.variance[i];
    with_variance += 1;
  }
  if (n == 0) return;
  check.mean_error = errors / n;
  check.rmse = std::sqrt(squares / n);
  check.mean_squared_z = with_variance > 0 ? z2 / with_variance : 0;
  double oo = 0, pp = 0, op = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    if (!std::isfinite(check.predicted[i])) continue;
    const double o = samples[i].value - observed / n;
    const double p = check.predicted[i] - predicted / n;
    oo += o * o;
    pp += p * p;
    op += o * p;
  }
  check.correlation = oo > 0 && pp > 0 ? op / std::sqrt(oo * pp) : 0;
}

std::vector<kriging::Outcome> local_outcomes(const kriging::OrdinaryProblem& problem,
                                             const NeighbourSearch& search, const Work& work) {
  const std::vector<Point>& places = problem.places;
  std::vector<kriging::Outcome> out(places.size());
  std::vector<kriging::LocalSystem> systems(
      static_cast<std::size_t>(std::max(1, work.threads)),
      kriging::LocalSystem(problem, search, kriging::Sharing::own));
  constexpr std::size_t chunk = 16;
  for_each_chunk(work, places.size(), chunk, [&](std::size_t begin, std::size_t end, int worker) {
    kriging::LocalSystem& system = systems[static_cast<std::size_t>(worker)];
    for (std::size_t i = begin; i < end; ++i) {
      Site here;
      here.place = {places[i].x + problem.origin.x, places[i].y + problem.origin.y};
      const kriging::SiteTargets target(problem, {&here, 1});
      system.predict(target, {places[i], 0}, static_cast<int>(i), std::span(out).subspan(i, 1));
    }
  });
  return out;
}

}  // namespace

LeaveOneOut leave_one_out_summary(const Samples& samples, std::vector<double> predicted,
                                  std::vector<double> variance) {
  LeaveOneOut check;
  check.predicted = std::move(predicted);
  check.variance = std::move(variance);
  summarise(samples, check);
  return check;
}

LeaveOneOut leave_one_out(const Samples& samples, const VariogramModel& model,
                          const Neighbourhood& neighbourhood, const Work& work) {
  const kriging::OrdinaryProblem problem(samples, model);
  const NeighbourSearch search(problem.places, neighbourhood);
  const bool enough = problem.count() - 1 >= search.fewest();
  const std::vector<kriging::Outcome> outcomes =
      search.takes_all() && enough ? kriging::GlobalSystem(problem).leave_one_out()
                                   : local_outcomes(problem, search, work);
  LeaveOneOut check;
  for (const int place : problem.samples.of_sample) {
    const kriging::Outcome& outcome = outcomes[static_cast<std::size_t>(place)];
    const bool known = outcome.reason == Reason::value;
    check.predicted.push_back(known ? outcome.prediction.value : nan);
    check.variance.push_back(known ? outcome.prediction.variance : nan);
  }
  summarise(samples, check);
  return check;
}

LeaveOneOut leave_one_out(const Samples& samples, const InverseDistance& options,
                          const Work& work) {
  LeaveOneOut check;
  check.predicted = InverseDistanceSurface(samples, options).each_from_the_others(work);
  check.variance.assign(samples.size(), 0.0);
  summarise(samples, check);
  return check;
}

}  // namespace evendrip
