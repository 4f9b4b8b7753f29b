// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/prediction.hpp"

#include "kriging_solver.hpp"
#include "surface_problem.hpp"

#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <utility>

#include <fmt/format.h>
#include <boost/math/distributions/normal.hpp>

namespace evendrip {
namespace {

using kriging::BlockTargets;
using kriging::Outcome;
using kriging::Sharing;
using kriging::SiteTargets;
using kriging::Solver;
using kriging::SurfaceProblem;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
/// Observations up to which all count everywhere by themselves: about a microsecond for a cell.
constexpr int all_are_quick = 400;

DataUse use_for(const PredictionOptions& options, int observations) {
  if (options.most < 1) throw std::invalid_argument("at least one observation has to count");
  if (options.use == DataUse::automatic)
    return observations <= all_are_quick ? DataUse::all : DataUse::common;
  return options.use;
}

Neighbourhood neighbourhood_of(DataUse use, int most) {
  Neighbourhood neighbourhood;
  neighbourhood.most = use == DataUse::all ? 0 : most;
  return neighbourhood;
}

std::vector<Prediction> predictions_of(const std::vector<Outcome>& outcomes) {
  std::vector<Prediction> out;
  out.reserve(outcomes.size());
  for (const Outcome& outcome : outcomes)
    out.push_back(outcome.reason == Reason::value ? outcome.prediction : Prediction{nan, nan});
  return out;
}

}  // namespace

std::string to_text(DataUse use) {
  switch (use) {
    case DataUse::automatic:
      return "automatic";
    case DataUse::all:
      return "all measurements";
    case DataUse::nearest:
      return "the nearest measurements of every place";
    case DataUse::common:
      return "measurements common to a square of cells";
  }
  return "";
}

struct SurfacePredictor::State {
  State(const SurfaceObservations& observations, const SurfaceModel& model,
        const PredictionOptions& options)
      : problem(observations, model, options.target),
        use(use_for(options, problem.count())),
        most(options.most),
        solver(problem, neighbourhood_of(use, most),
               use == DataUse::common ? Sharing::common : Sharing::own) {}

  SurfaceProblem problem;
  DataUse use;
  int most;
  Solver solver;
};

SurfacePredictor::SurfacePredictor(const SurfaceObservations& observations,
                                   const SurfaceModel& model, const PredictionOptions& options)
    : state_(std::make_unique<State>(observations, model, options)) {
  const kriging::GlobalSystem* global = state_->solver.global();
  if (global == nullptr) return;
  if (!global->solvable())
    throw std::invalid_argument(
        "the covariances of the observations are not positive definite: two stand at one place "
        "without noise, or the model is too smooth for their spacing; give the model a nugget");
  if (global->dependent())
    throw std::invalid_argument("the columns of the trend are dependent at the observations");
}
SurfacePredictor::~SurfacePredictor() = default;
SurfacePredictor::SurfacePredictor(SurfacePredictor&&) noexcept = default;

DataUse SurfacePredictor::use() const {
  return state_->use;
}

std::string SurfacePredictor::use_text() const {
  const int count = state_->problem.count();
  if (state_->use == DataUse::all || state_->most >= count)
    return count == 1 ? "the only measurement" : fmt::format("all {} measurements", count);
  if (state_->use == DataUse::nearest)
    return fmt::format("the {} measurements nearest to every place", state_->most);
  return fmt::format("the {} measurements nearest to each square of cells", state_->most);
}

std::vector<Prediction> SurfacePredictor::at(std::span<const Site> sites, const Work& work) const {
  const auto make = [&](std::size_t begin, std::size_t end) {
    return std::make_unique<SiteTargets>(state_->problem, sites.subspan(begin, end - begin));
  };
  return predictions_of(state_->solver.each(sites.size(), make, work));
}

std::vector<Prediction> SurfacePredictor::means(std::span<const Block> blocks,
                                                const Work& work) const {
  const auto make = [&](std::size_t begin, std::size_t end) {
    return std::make_unique<BlockTargets>(state_->problem, blocks.subspan(begin, end - begin));
  };
  return predictions_of(state_->solver.each(blocks.size(), make, work));
}

SurfacePredictor::Surfaces SurfacePredictor::over(const Grid& grid, const Window& window,
                                                  std::span<const Site> sites,
                                                  const Work& work) const {
  if (sites.size() != window.cells())
    throw std::invalid_argument("a window needs one site for each cell");
  std::vector<std::uint8_t> wanted(sites.size());
  for (std::size_t i = 0; i < sites.size(); ++i) wanted[i] = sites[i].zone >= 0 ? 1 : 0;
  kriging::PredictedRasters rasters = state_->solver.over({grid, window, wanted, sites}, work);
  return {std::move(rasters.value), std::move(rasters.variance)};
}

PredictionLimits normal_limits(const Prediction& prediction, double level) {
  if (!(level > 0 && level < 1))
    throw std::invalid_argument("the level of limits lies between 0 and 1");
  if (!(prediction.variance >= 0)) return {nan, nan};
  const double reach = boost::math::quantile(boost::math::normal(), (1 + level) / 2) *
                       std::sqrt(prediction.variance);
  return {prediction.value - reach, prediction.value + reach};
}

double probability_below(const Prediction& prediction, double threshold) {
  if (!std::isfinite(prediction.value) || !(prediction.variance >= 0)) return nan;
  if (prediction.variance <= 0) return prediction.value < threshold ? 1 : 0;
  const double sd = std::sqrt(prediction.variance);
  return 0.5 * std::erfc((prediction.value - threshold) / (sd * std::numbers::sqrt2));
}

}  // namespace evendrip
