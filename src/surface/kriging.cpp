// SPDX-License-Identifier: Apache-2.0
#include "kriging_solver.hpp"

#include "evendrip/surface/estimators.hpp"

#include <cmath>
#include <utility>

namespace evendrip {
namespace {

using kriging::BlockPoints;
using kriging::MeanTargets;
using kriging::OrdinaryProblem;
using kriging::Outcome;
using kriging::Sharing;
using kriging::SiteTargets;
using kriging::Solver;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

std::vector<Site> sites_at(std::span<const Point> places) {
  std::vector<Site> sites(places.size());
  for (std::size_t i = 0; i < places.size(); ++i) sites[i].place = places[i];
  return sites;
}

std::vector<Prediction> predictions(std::span<const Outcome> outcomes) {
  std::vector<Prediction> out;
  out.reserve(outcomes.size());
  for (const Outcome& outcome : outcomes)
    out.push_back(outcome.reason == Reason::value ? outcome.prediction : Prediction{nan, nan});
  return out;
}

}  // namespace

struct OrdinaryKriging::State {
  State(const Samples& samples, const VariogramModel& model, const Neighbourhood& neighbourhood)
      : problem(samples, model), solver(problem, neighbourhood, Sharing::own) {}

  OrdinaryProblem problem;
  Solver solver;
};

OrdinaryKriging::OrdinaryKriging(const Samples& samples, const VariogramModel& model,
                                 const Neighbourhood& neighbourhood)
    : state_(std::make_unique<State>(samples, model, neighbourhood)) {}
OrdinaryKriging::~OrdinaryKriging() = default;
OrdinaryKriging::OrdinaryKriging(OrdinaryKriging&&) noexcept = default;

int OrdinaryKriging::merged() const {
  return state_->problem.samples.merged;
}

std::vector<Prediction> OrdinaryKriging::at(std::span<const Point> places, const Work& work) const {
  const std::vector<Site> sites = sites_at(places);
  return predictions(state_->solver.each(
      places.size(),
      [&](std::size_t begin, std::size_t end) {
        return std::make_unique<SiteTargets>(state_->problem,
                                             std::span(sites).subspan(begin, end - begin));
      },
      work));
}

std::vector<Prediction> OrdinaryKriging::means_at(std::span<const Point> middles, double side_m,
                                                  int points_per_side, const Work& work) const {
  const std::vector<Site> sites = sites_at(middles);
  const BlockPoints block = kriging::gauss_points(side_m, points_per_side);
  const double variance = state_->problem.variance_of_mean(block);
  return predictions(state_->solver.each(
      middles.size(),
      [&](std::size_t begin, std::size_t end) {
        return std::make_unique<MeanTargets>(state_->problem, block, variance,
                                             std::span(sites).subspan(begin, end - begin));
      },
      work));
}

OrdinaryKriging::Surfaces OrdinaryKriging::over(const Grid& grid, const Window& window,
                                                std::span<const std::uint8_t> wanted,
                                                const Work& work) const {
  kriging::PredictedRasters rasters = state_->solver.over({grid, window, wanted, {}}, work);
  return {std::move(rasters.value), std::move(rasters.variance)};
}

OrdinaryKriging::Surfaces OrdinaryKriging::means_over(const Grid& grid, const Window& window,
                                                      std::span<const std::uint8_t> wanted,
                                                      int points_per_side, const Work& work) const {
  const OrdinaryProblem& problem = state_->problem;
  const BlockPoints block = kriging::gauss_points(grid.cell_m, points_per_side);
  const double variance = problem.variance_of_mean(block);
  const auto make = [&](std::span<const Site> middles) -> std::unique_ptr<kriging::Targets> {
    return std::make_unique<MeanTargets>(problem, block, variance, middles);
  };
  kriging::PredictedRasters rasters = state_->solver.over({grid, window, wanted, {}, make}, work);
  return {std::move(rasters.value), std::move(rasters.variance)};
}

OrdinaryKriging::Weights OrdinaryKriging::weights_at(Point place) const {
  const OrdinaryProblem& problem = state_->problem;
  Site site;
  site.place = place;
  const SiteTargets target(problem, {&site, 1});
  Candidates candidates;
  Chosen chosen;
  state_->solver.search().find_candidates(target.local[0], 0, 0, candidates);
  state_->solver.search().choose(candidates, target.local[0], -1, chosen);
  std::vector<int> samples;
  samples.reserve(chosen.positions.size());
  for (const int position : chosen.positions)
    samples.push_back(candidates.samples[kriging::size(position)]);
  if (static_cast<int>(samples.size()) < state_->solver.search().fewest()) return {};
  kriging::LocalSystem system(problem, state_->solver.search(), Sharing::own);
  const auto weights = system.weights(target, samples);
  if (!weights) return {};
  Weights out;
  out.weights = weights->observations;
  out.lagrange = weights->multipliers[0];
  for (const int sample : samples)
    out.samples.push_back(problem.samples.rank[kriging::size(sample)]);
  return out;
}

}  // namespace evendrip
