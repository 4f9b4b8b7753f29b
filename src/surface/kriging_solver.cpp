// SPDX-License-Identifier: Apache-2.0
#include "kriging_solver.hpp"

#include <cmath>
#include <cstddef>

namespace evendrip::kriging {
namespace {

constexpr std::size_t tiles_at_once = 4;
constexpr int widest_tile = 16;
constexpr int narrow_tile = 8;
/// Observations up to which the covariances of a wide tile stay in the nearer cache.
constexpr int few = 250;
/// One set for a square: its side against what its neighbours' own search would bear.
constexpr double common_share = 0.6;

void keep(const Outcome& outcome, std::size_t cell, PredictedRasters& out) {
  if (outcome.reason == Reason::value) {
    out.value.set(cell, outcome.prediction.value);
    out.variance.set(cell, outcome.prediction.variance);
  } else {
    out.value.clear(cell, outcome.reason);
    out.variance.clear(cell, outcome.reason);
  }
}

}  // namespace

struct Solver::Worker {
  Workspace workspace;
  LocalSystem local;
  std::vector<TileCell> cells;
  std::vector<Site> sites;
  std::vector<Outcome> outcomes;
};

Solver::Solver(const Problem& problem, const Neighbourhood& neighbourhood, Sharing sharing)
    : problem_(problem), search_(problem.places, neighbourhood), sharing_(sharing) {
  if (search_.takes_all() && enough()) global_ = std::make_unique<GlobalSystem>(problem);
}

std::vector<Solver::Worker> Solver::workers(const Work& work) const {
  return std::vector<Worker>(size(std::max(1, work.threads)),
                             Worker{{}, LocalSystem(problem_, search_, sharing_), {}, {}, {}});
}

std::vector<Outcome> Solver::each(std::size_t count, const Maker& make, const Work& work) const {
  std::vector<Outcome> out(count, Outcome{{}, Reason::too_few});
  if (!enough()) return out;
  std::vector<Worker> all = workers(work);
  for_each_chunk(
      work, count, GlobalSystem::block, [&](std::size_t begin, std::size_t end, int number) {
        Worker& worker = all[size(number)];
        const auto part = std::span(out).subspan(begin, end - begin);
        if (global_) {
          global_->predict(*make(begin, end), worker.workspace, part);
          return;
        }
        for (std::size_t i = begin; i < end; ++i) {
          const std::unique_ptr<Targets> target = make(i, i + 1);
          worker.local.predict(*target, {target->local[0], 0}, -1, part.subspan(i - begin, 1));
        }
      });
  return out;
}

int Solver::tile_side(double cell_m) const {
  if (global_ || !enough()) return problem_.count() > few ? narrow_tile : widest_tile;
  const int side = search_.tile_side(cell_m);
  if (sharing_ == Sharing::own) return side;
  return std::max(1, static_cast<int>(common_share * side));
}

Point Solver::middle_of_square(const Cells& cells, const Tile& tile) const {
  const int side = tile_side(cells.grid.cell_m);
  const auto middle = [side](int cell) {
    const int first = cell / side * side;  // of the square
    return first + side / 2.0;
  };
  const Grid& grid = cells.grid;
  return {grid.x_left - problem_.origin.x + middle(cells.window.column + tile.column) * grid.cell_m,
          grid.y_top - problem_.origin.y - middle(cells.window.row + tile.row) * grid.cell_m};
}

void Solver::predict_tile(const Cells& cells, const Tile& tile, Worker& worker,
                          PredictedRasters& out) const {
  wanted_cells(cells.grid, cells.window, tile, cells.wanted, problem_.origin, worker.cells);
  if (worker.cells.empty()) return;
  worker.outcomes.assign(worker.cells.size(), Outcome{{}, Reason::too_few});
  worker.sites.assign(worker.cells.size(), Site{});
  for (std::size_t i = 0; i < worker.cells.size(); ++i) {
    const TileCell& cell = worker.cells[i];
    if (!cells.sites.empty()) {
      worker.sites[i] = cells.sites[cell.index];
    } else {
      worker.sites[i].place = {cell.place.x + problem_.origin.x, cell.place.y + problem_.origin.y};
    }
  }
  const std::unique_ptr<Targets> made = cells.targets
                                            ? cells.targets(worker.sites)
                                            : std::make_unique<SiteTargets>(problem_, worker.sites);
  const Targets& targets = *made;
  if (global_) {
    global_->predict(targets, worker.workspace, worker.outcomes);
  } else if (enough()) {
    Circle circle = circle_around(targets.local);
    if (sharing_ == Sharing::common) circle.centre = middle_of_square(cells, tile);
    worker.local.predict(targets, circle, -1, worker.outcomes);
  }
  for (std::size_t i = 0; i < worker.cells.size(); ++i)
    keep(worker.outcomes[i], worker.cells[i].index, out);
}

PredictedRasters Solver::over(const Cells& cells, const Work& work) const {
  const Grid part = sub_grid(cells.grid, cells.window);
  PredictedRasters out{Raster(part, Reason::outside_zones), Raster(part, Reason::outside_zones)};
  const int side = tile_side(cells.grid.cell_m);
  std::vector<Worker> all = workers(work);
  for_each_chunk(work, tiles_of(cells.window, side), tiles_at_once,
                 [&](std::size_t begin, std::size_t end, int number) {
                   for (std::size_t k = begin; k < end; ++k)
                     predict_tile(cells, tile_of(cells.window, side, k), all[size(number)], out);
                 });
  return out;
}

}  // namespace evendrip::kriging
