// SPDX-License-Identifier: Apache-2.0
// Predictions at sites and over grids from one problem, whichever observations count.
#pragma once

#include "kriging_system.hpp"

#include <algorithm>
#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"

namespace evendrip::kriging {

/// The cells to be estimated: `wanted` (if given) flags those of the window, `sites` (if given) are
/// theirs; else a site is the centre of the cell alone.
struct Cells {
  const Grid& grid;
  const Window& window;
  std::span<const std::uint8_t> wanted;
  std::span<const Site> sites;
  /// What is predicted about these sites; the sites themselves where there is no maker.
  std::function<std::unique_ptr<Targets>(std::span<const Site> sites)> targets = {};
};

struct PredictedRasters {
  Raster value;
  Raster variance;
};

class Solver {
 public:
  /// `problem` must outlive the solver. All observations count where the neighbourhood takes all.
  Solver(const Problem& problem, const Neighbourhood& neighbourhood, Sharing sharing);

  const NeighbourSearch& search() const { return search_; }
  /// Null where neighbours count, or where there are too few observations.
  const GlobalSystem* global() const { return global_.get(); }
  bool enough() const { return problem_.count() >= std::max(1, search_.fewest()); }

  /// Makes targets number begin to end - 1.
  using Maker = std::function<std::unique_ptr<Targets>(std::size_t begin, std::size_t end)>;
  /// Each of `count` targets, with neighbours of its own where neighbours count.
  std::vector<Outcome> each(std::size_t count, const Maker& make, const Work& work) const;
  /// Cells that are not wanted have Reason::outside_zones.
  PredictedRasters over(const Cells& cells, const Work& work) const;

 private:
  struct Worker;
  std::vector<Worker> workers(const Work& work) const;
  int tile_side(double cell_m) const;
  /// Of the whole square that a tile is of, wherever the window cuts it.
  Point middle_of_square(const Cells& cells, const Tile& tile) const;
  void predict_tile(const Cells& cells, const Tile& tile, Worker& worker,
                    PredictedRasters& out) const;

  const Problem& problem_;
  NeighbourSearch search_;
  Sharing sharing_;
  std::unique_ptr<GlobalSystem> global_;
};

}  // namespace evendrip::kriging
