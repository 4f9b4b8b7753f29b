// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include "evendrip/surface/estimators.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

namespace evendrip {
namespace {

using kriging::GlobalSystem;
using kriging::LocalSystem;
using kriging::Outcome;
using kriging::Problem;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

std::size_t workers_of(const Work& work) {
  return static_cast<std::size_t>(std::max(1, work.threads));
}

}  // namespace

struct OrdinaryKriging::State {
  State(const Samples& samples, const VariogramModel& model, const Neighbourhood& neighbourhood)
      : problem(samples, model), search(problem.samples.places, neighbourhood) {
    if (search.takes_all() && enough()) global = std::make_unique<GlobalSystem>(problem);
  }
  bool enough() const { return problem.count() >= std::max(1, search.fewest()); }
  Weights solve_weights(Point local, std::span<const int> samples) const;

  Problem problem;
  NeighbourSearch search;
  std::unique_ptr<GlobalSystem> global;
};

OrdinaryKriging::OrdinaryKriging(const Samples& samples, const VariogramModel& model,
                                 const Neighbourhood& neighbourhood)
    : state_(std::make_unique<State>(samples, model, neighbourhood)) {}
OrdinaryKriging::~OrdinaryKriging() = default;
OrdinaryKriging::OrdinaryKriging(OrdinaryKriging&&) noexcept = default;

int OrdinaryKriging::merged() const {
  return state_->problem.samples.merged;
}

namespace {

/// Calls done(cell index, outcome) for places handed out in blocks, all samples counting.
void solve_global(const GlobalSystem& system, std::span<const TileCell> cells, const Work& work,
                  const std::function<void(std::size_t, const Outcome&)>& done) {
  struct Worker {
    GlobalSystem::Workspace workspace;
    std::vector<Point> places;
    std::vector<Outcome> outcomes;
  };
  std::vector<Worker> workers(workers_of(work));
  for_each_chunk(work, cells.size(), GlobalSystem::block,
                 [&](std::size_t begin, std::size_t end, int number) {
                   Worker& worker = workers[static_cast<std::size_t>(number)];
                   worker.places.clear();
                   for (std::size_t i = begin; i < end; ++i)
                     worker.places.push_back(cells[i].place);
                   worker.outcomes.resize(worker.places.size());
                   system.predict(worker.places, worker.workspace, worker.outcomes);
                   for (std::size_t i = begin; i < end; ++i)
                     done(cells[i].index, worker.outcomes[i - begin]);
                 });
}

std::vector<LocalSystem> local_systems(const Problem& problem, const NeighbourSearch& search,
                                       const Work& work) {
  return std::vector<LocalSystem>(workers_of(work), LocalSystem(problem, search));
}

/// The cells to be estimated.
struct WantedCells {
  const Grid& grid;
  const Window& window;
  std::span<const std::uint8_t> wanted;
};

/// Calls done(cell index, outcome) for wanted cells, tile by tile, neighbours counting.
void solve_local(const Problem& problem, const NeighbourSearch& search, const WantedCells& cells,
                 const Work& work, const std::function<void(std::size_t, const Outcome&)>& done) {
  auto systems = local_systems(problem, search, work);
  const int side = search.tile_side(cells.grid.cell_m);
  const auto bands = static_cast<std::size_t>(bands_of(cells.window, side));
  for_each_chunk(work, bands, 1, [&](std::size_t band, std::size_t, int worker) {
    LocalSystem& system = systems[static_cast<std::size_t>(worker)];
    std::vector<TileCell> found;
    for (const Tile& tile : tiles_of_band(cells.window, side, static_cast<int>(band))) {
      wanted_cells(cells.grid, cells.window, tile, cells.wanted, problem.samples.origin, found);
      if (found.empty()) continue;
      system.move_to(circle_around(found), 0);
      for (const TileCell& cell : found) done(cell.index, system.predict(cell.place, -1));
    }
  });
}

}  // namespace

std::vector<Prediction> OrdinaryKriging::at(std::span<const Point> places, const Work& work) const {
  std::vector<Prediction> out(places.size(), Prediction{nan, nan});
  if (!state_->enough()) return out;
  const auto keep = [&](std::size_t index, const Outcome& outcome) {
    if (outcome.reason == Reason::value) out[index] = outcome.prediction;
  };
  std::vector<TileCell> cells;
  for (const Point& place : places)
    cells.push_back({cells.size(), state_->problem.samples.local(place)});
  if (state_->global) {
    solve_global(*state_->global, cells, work, keep);
    return out;
  }
  auto systems = local_systems(state_->problem, state_->search, work);
  constexpr std::size_t chunk = 64;
  for_each_chunk(work, cells.size(), chunk, [&](std::size_t begin, std::size_t end, int worker) {
    LocalSystem& system = systems[static_cast<std::size_t>(worker)];
    for (std::size_t i = begin; i < end; ++i) {
      system.move_to({cells[i].place, 0}, 0);
      keep(i, system.predict(cells[i].place, -1));
    }
  });
  return out;
}

OrdinaryKriging::Surfaces OrdinaryKriging::over(const Grid& grid, const Window& window,
                                                std::span<const std::uint8_t> wanted,
                                                const Work& work) const {
  const Grid part = sub_grid(grid, window);
  Surfaces out{Raster(part, Reason::outside_zones), Raster(part, Reason::outside_zones)};
  const auto keep = [&](std::size_t index, const Outcome& outcome) {
    if (outcome.reason == Reason::value) {
      out.value.set(index, outcome.prediction.value);
      out.variance.set(index, outcome.prediction.variance);
    } else {
      out.value.clear(index, outcome.reason);
      out.variance.clear(index, outcome.reason);
    }
  };
  const Point origin = state_->problem.samples.origin;
  const Tile whole{0, 0, window.rows, window.columns};
  if (state_->global || !state_->enough()) {
    std::vector<TileCell> cells;
    wanted_cells(grid, window, whole, wanted, origin, cells);
    if (state_->global) {
      solve_global(*state_->global, cells, work, keep);
    } else {
      for (const TileCell& cell : cells) keep(cell.index, {{}, Reason::too_few});
    }
    return out;
  }
  solve_local(state_->problem, state_->search, {grid, window, wanted}, work, keep);
  return out;
}

OrdinaryKriging::Weights OrdinaryKriging::State::solve_weights(Point local,
                                                               std::span<const int> samples) const {
  const int n = static_cast<int>(samples.size());
  const int stride = kriging::padded_for_covariances(n);
  const auto fill = [&](Point here, double* column) {
    for (std::size_t i = 0; i < samples.size(); ++i)
      column[i] = kriging::distance2(problem.stretched[kriging::size(samples[i])], here);
    std::fill(column + n, column + stride, 0.0);
    kernels::covariances(problem.covariance, column, column, stride);
  };
  std::vector<double> factor(kriging::size(n) * kriging::size(stride));
  for (std::size_t j = 0; j < samples.size(); ++j)
    fill(problem.stretched[kriging::size(samples[j])], factor.data() + j * kriging::size(stride));
  std::vector<double> v(kriging::size(stride));
  fill(problem.stretch(local), v.data());
  std::vector<double> u(kriging::size(stride), 1.0);
  Weights out;
  if (n == 0 || !kernels::factor(factor.data(), n, stride, problem.smallest_pivot)) return out;
  kernels::solve_lower(factor.data(), n, stride, u.data(), 1, stride);
  kernels::solve_lower(factor.data(), n, stride, v.data(), 1, stride);
  out.lagrange = (kernels::dot(u.data(), v.data(), n) - 1) / kernels::dot(u.data(), u.data(), n);
  for (std::size_t i = 0; i < samples.size(); ++i) v[i] -= out.lagrange * u[i];
  kernels::solve_lower_transposed(factor.data(), n, stride, v.data(), 1, stride);
  out.weights.assign(v.begin(), v.begin() + n);
  for (const int sample : samples)
    out.samples.push_back(problem.samples.rank[kriging::size(sample)]);
  return out;
}

OrdinaryKriging::Weights OrdinaryKriging::weights_at(Point place) const {
  const Point local = state_->problem.samples.local(place);
  Candidates candidates;
  Chosen chosen;
  state_->search.find_candidates(local, 0, 0, candidates);
  state_->search.choose(candidates, local, -1, chosen);
  std::vector<int> samples;
  samples.reserve(chosen.positions.size());
  for (const int position : chosen.positions)
    samples.push_back(candidates.samples[kriging::size(position)]);
  if (static_cast<int>(samples.size()) < state_->search.fewest()) return {};
  return state_->solve_weights(local, samples);
}

}  // namespace evendrip
