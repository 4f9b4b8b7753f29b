// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/estimators.hpp"
#include "evendrip/surface/neighbours.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

namespace evendrip {
namespace {

/// Neighbours at a place, one thread's.
struct Scratch {
  Candidates candidates;
  Chosen chosen;
  std::vector<double> values;  ///< of the candidates
  std::vector<TileCell> cells;
};

std::size_t workers_of(const Work& work) {
  return static_cast<std::size_t>(std::max(1, work.threads));
}

}  // namespace

struct InverseDistanceSurface::State {
  State(const Samples& given, const InverseDistance& options)
      : samples(placed(given)),
        search(samples.places, options.neighbourhood),
        power(options.power) {}

  void move_to(const Circle& circle, int spare, Scratch& scratch) const;
  std::optional<double> estimate(Point local, int left_out, Scratch& scratch) const;
  void estimate_cells(Scratch& scratch, Raster& out) const;

  PlacedSamples samples;
  NeighbourSearch search;
  double power;
};

void InverseDistanceSurface::State::move_to(const Circle& circle, int spare,
                                            Scratch& scratch) const {
  search.find_candidates(circle.centre, circle.radius_m, spare, scratch.candidates);
  scratch.values.clear();
  for (const int sample : scratch.candidates.samples)
    scratch.values.push_back(samples.values[static_cast<std::size_t>(sample)]);
}

/// Nothing if too few samples are in reach.
std::optional<double> InverseDistanceSurface::State::estimate(Point local, int left_out,
                                                              Scratch& scratch) const {
  Chosen& chosen = scratch.chosen;
  search.choose(scratch.candidates, local, left_out, chosen);
  const int fewest = std::max(1, search.fewest());
  if (static_cast<int>(chosen.positions.size()) < fewest) return std::nullopt;
  if (chosen.at_place >= 0) return scratch.values[static_cast<std::size_t>(chosen.at_place)];
  double weights = 0;
  double sum = 0;
  const auto add = [&](const auto& weight_of) {
    for (const int position : chosen.positions) {
      const auto i = static_cast<std::size_t>(position);
      const double w = weight_of(chosen.distance2_m2[i]);
      weights += w;
      sum += w * scratch.values[i];
    }
  };
  if (power == 2) {
    add([](double d2) { return 1 / d2; });
  } else {
    const double exponent = -0.5 * power;
    add([exponent](double d2) { return std::pow(d2, exponent); });
  }
  return sum / weights;
}

void InverseDistanceSurface::State::estimate_cells(Scratch& scratch, Raster& out) const {
  if (scratch.cells.empty()) return;
  move_to(circle_around(scratch.cells), 0, scratch);
  for (const TileCell& cell : scratch.cells) {
    const std::optional<double> value = estimate(cell.place, -1, scratch);
    if (value) {
      out.set(cell.index, *value);
    } else {
      out.clear(cell.index, Reason::too_few);
    }
  }
}

InverseDistanceSurface::InverseDistanceSurface(const Samples& samples,
                                               const InverseDistance& options)
    : state_(std::make_unique<State>(samples, options)) {}
InverseDistanceSurface::~InverseDistanceSurface() = default;
InverseDistanceSurface::InverseDistanceSurface(InverseDistanceSurface&&) noexcept = default;

Raster InverseDistanceSurface::over(const Grid& grid, const Window& window,
                                    std::span<const std::uint8_t> wanted, const Work& work) const {
  Raster out(sub_grid(grid, window), Reason::outside_zones);
  const State& state = *state_;
  std::vector<Scratch> scratches(workers_of(work));
  const int side = state.search.tile_side(grid.cell_m);
  constexpr std::size_t tiles_at_once = 4;
  for_each_chunk(work, tiles_of(window, side), tiles_at_once,
                 [&](std::size_t begin, std::size_t end, int worker) {
                   Scratch& scratch = scratches[static_cast<std::size_t>(worker)];
                   for (std::size_t k = begin; k < end; ++k) {
                     wanted_cells(grid, window, tile_of(window, side, k), wanted,
                                  state.samples.origin, scratch.cells);
                     state.estimate_cells(scratch, out);
                   }
                 });
  return out;
}

std::vector<double> InverseDistanceSurface::at(std::span<const Point> places,
                                               const Work& work) const {
  std::vector<double> out(places.size(), std::numeric_limits<double>::quiet_NaN());
  std::vector<Scratch> scratches(workers_of(work));
  constexpr std::size_t chunk = 256;
  for_each_chunk(work, places.size(), chunk, [&](std::size_t begin, std::size_t end, int worker) {
    Scratch& scratch = scratches[static_cast<std::size_t>(worker)];
    for (std::size_t i = begin; i < end; ++i) {
      const Point local = state_->samples.local(places[i]);
      state_->move_to({local, 0}, 0, scratch);
      if (const auto value = state_->estimate(local, -1, scratch)) out[i] = *value;
    }
  });
  return out;
}

std::vector<double> InverseDistanceSurface::each_from_the_others(const Work& work) const {
  const std::vector<int>& of_sample = state_->samples.of_sample;
  std::vector<double> out(of_sample.size(), std::numeric_limits<double>::quiet_NaN());
  std::vector<Scratch> scratches(workers_of(work));
  constexpr std::size_t chunk = 256;
  for_each_chunk(work, out.size(), chunk, [&](std::size_t begin, std::size_t end, int worker) {
    Scratch& scratch = scratches[static_cast<std::size_t>(worker)];
    for (std::size_t i = begin; i < end; ++i) {
      const Point local = state_->samples.places[static_cast<std::size_t>(of_sample[i])];
      state_->move_to({local, 0}, 1, scratch);
      if (const auto value = state_->estimate(local, of_sample[i], scratch)) out[i] = *value;
    }
  });
  return out;
}

std::vector<double> inverse_distance_at(const Samples& samples, const InverseDistance& options,
                                        std::span<const Point> places, const Work& work) {
  return InverseDistanceSurface(samples, options).at(places, work);
}

}  // namespace evendrip
