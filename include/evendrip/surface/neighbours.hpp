// SPDX-License-Identifier: Apache-2.0
// Samples made ready for estimating, and the search for those that count at a place.
//
// Samples at the very same place are merged (mean); all are ordered by place, so that no result
// depends on the order in which they were given. Coordinates are less an origin near the samples.
// Cells are searched tile by tile: one index query gives the candidates of a small square of cells,
// and each cell picks its own among those. Ties of distance go to the sample farther west, then
// south.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "evendrip/geo/index.hpp"
#include "evendrip/surface/estimators.hpp"

namespace evendrip {

struct PlacedSamples {
  Point origin;                ///< whole metres, subtracted from every place
  std::vector<Point> places;   ///< west to east, then south to north
  std::vector<double> values;  ///< mean where samples were merged
  std::vector<int> rank;       ///< of each place: its number by first appearance in the samples
  std::vector<int> of_sample;  ///< of each sample given: index into places
  int merged = 0;              ///< samples given less places

  int count() const { return static_cast<int>(places.size()); }
  Point local(Point p) const { return {p.x - origin.x, p.y - origin.y}; }
};
PlacedSamples placed(const Samples& samples);

/// Nearer than this to a sample, a place takes the sample's value. Micrometres, squared.
constexpr double same_place_m2 = 1e-12;

/// The samples that any place within a circle may need, ascending. Reused from circle to circle.
struct Candidates {
  std::vector<int> samples;
  std::vector<Point> places;
  std::vector<NearPoint> scratch;
};

/// What counts at one place: positions in the candidates, ascending.
struct Chosen {
  std::vector<int> positions;
  std::vector<double> distance2_m2;  ///< of every candidate
  std::vector<double> scratch;
  int at_place = -1;  ///< position of the candidate at this very place
};

class NeighbourSearch {
 public:
  NeighbourSearch(std::span<const Point> places, const Neighbourhood& neighbourhood);
  /// True if every sample counts everywhere.
  bool takes_all() const { return takes_all_; }
  int fewest() const { return neighbourhood_.fewest; }
  /// Side, in cells, of the squares that are worth searching at once; 1 to 16.
  int tile_side(double cell_m) const;
  /// `spare` more than the most that count are found, for places that leave one out (radius 0).
  void find_candidates(Point centre, double radius_m, int spare, Candidates& found) const;
  /// Picks for a place inside the circle of `candidates`, leaving out one sample if asked (-1: no).
  void choose(const Candidates& candidates, Point p, int left_out, Chosen& chosen) const;

 private:
  std::vector<Point> places_;
  PointIndex index_;
  Neighbourhood neighbourhood_;
  int most_ = 0;
  bool takes_all_ = false;
  double typical_reach_m_ = 0;
};

/// A square of cells, cut at the window: offsets within the window.
struct Tile {
  int row = 0;
  int column = 0;
  int rows = 0;
  int columns = 0;
};
/// Squares of `side` cells that cover a window, numbered row by row. They begin at whole multiples
/// of the side in the grid, so that a square is the same however the grid is cut into windows.
std::size_t tiles_of(const Window& window, int side);
Tile tile_of(const Window& window, int side, std::size_t number);

/// A cell's offsets within the window, and its place in local coordinates.
struct TileCell {
  std::size_t index = 0;  ///< in the window, row by row
  Point place;
};
/// The wanted cells of a tile, rows back and forth. `wanted` empty: all. `cells` is cleared.
void wanted_cells(const Grid& grid, const Window& window, const Tile& tile,
                  std::span<const std::uint8_t> wanted, Point origin, std::vector<TileCell>& cells);
/// Smallest circle about the middle of the bounding box.
struct Circle {
  Point centre;
  double radius_m = 0;
};
Circle circle_around(std::span<const Point> places);
Circle circle_around(std::span<const TileCell> cells);

}  // namespace evendrip
