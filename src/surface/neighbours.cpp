// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/neighbours.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <tuple>

namespace evendrip {
namespace {

constexpr int widest_tile = 16;
/// Diagonal of a tile against the reach of the neighbours: wider tiles have too many candidates.
constexpr double tile_share = 0.5;

double squared(double v) {
  return v * v;
}

double distance2(Point a, Point b) {
  return squared(a.x - b.x) + squared(a.y - b.y);
}

Extent extent_of_points(std::span<const Point> points) {
  Extent extent;
  for (const Point& p : points) extent.include(p);
  return extent;
}

std::vector<std::size_t> order_by_place(const Samples& samples) {
  std::vector<std::size_t> order(samples.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    const Point& p = samples[a].site.place;
    const Point& q = samples[b].site.place;
    return std::tie(p.x, p.y, samples[a].value, a) < std::tie(q.x, q.y, samples[b].value, b);
  });
  return order;
}

/// Number of each place by the first of the samples that stand on it.
std::vector<int> ranks_of(const std::vector<int>& of_sample, std::size_t places) {
  std::vector<int> rank(places, -1);
  int next = 0;
  for (const int place : of_sample) {
    int& r = rank[static_cast<std::size_t>(place)];
    if (r < 0) r = next++;
  }
  return rank;
}

}  // namespace

PlacedSamples placed(const Samples& samples) {
  PlacedSamples out;
  Extent extent;
  for (const Sample& sample : samples) extent.include(sample.site.place);
  if (!extent.empty()) out.origin = {std::floor(extent.x_min), std::floor(extent.y_min)};
  out.of_sample.resize(samples.size());
  const std::vector<std::size_t> order = order_by_place(samples);
  for (std::size_t first = 0; first < order.size();) {
    const Point& place = samples[order[first]].site.place;
    double sum = 0;
    std::size_t next = first;
    for (; next < order.size() && samples[order[next]].site.place == place; ++next) {
      sum += samples[order[next]].value;
      out.of_sample[order[next]] = out.count();
    }
    out.places.push_back(out.local(place));
    out.values.push_back(sum / static_cast<double>(next - first));
    first = next;
  }
  out.rank = ranks_of(out.of_sample, out.places.size());
  out.merged = static_cast<int>(samples.size()) - out.count();
  return out;
}

NeighbourSearch::NeighbourSearch(std::span<const Point> places, const Neighbourhood& neighbourhood)
    : places_(places.begin(), places.end()), index_(places), neighbourhood_(neighbourhood) {
  const int count = static_cast<int>(places.size());
  most_ = neighbourhood.most > 0 ? std::min(neighbourhood.most, count) : count;
  takes_all_ = most_ == count && std::isinf(neighbourhood.within_m);
  const Extent extent = extent_of_points(places);
  if (count == 0 || extent.empty()) return;
  const double area = std::max(extent.width() * extent.height(), 1e-6);
  const double by_count = std::sqrt(area * most_ / (count * std::numbers::pi));
  typical_reach_m_ = std::min(by_count, neighbourhood.within_m);
}

int NeighbourSearch::tile_side(double cell_m) const {
  const double side_m = tile_share * typical_reach_m_ / std::numbers::sqrt2;
  return static_cast<int>(std::clamp(side_m / cell_m, 1.0, double{widest_tile}));
}

void NeighbourSearch::find_candidates(Point centre, double radius_m, int spare,
                                      Candidates& found) const {
  const int count = static_cast<int>(places_.size());
  const int wanted = std::min(most_ + spare, count);
  // A hair wider than the geometry asks: rounding must not lose a sample on the rim.
  const double rim_m = radius_m + 1e-9 * (1 + radius_m + std::hypot(centre.x, centre.y));
  const double within_m = neighbourhood_.within_m;
  index_.nearest(centre, wanted, within_m + rim_m, found.scratch);
  const bool more_may_count = wanted < count && static_cast<int>(found.scratch.size()) == wanted;
  if (radius_m > 0 && more_may_count) {
    const double reach_m = std::sqrt(found.scratch.back().distance2_m2) + radius_m;
    index_.nearest(centre, count, std::min(reach_m, within_m) + rim_m, found.scratch);
  }
  found.samples.clear();
  found.places.clear();
  for (const NearPoint& near : found.scratch) found.samples.push_back(near.point);
  std::sort(found.samples.begin(), found.samples.end());
  for (const int sample : found.samples)
    found.places.push_back(places_[static_cast<std::size_t>(sample)]);
}

void NeighbourSearch::choose(const Candidates& candidates, Point p, int left_out,
                             Chosen& chosen) const {
  const std::size_t count = candidates.samples.size();
  chosen.positions.clear();
  chosen.distance2_m2.resize(count);
  chosen.at_place = -1;
  for (std::size_t i = 0; i < count; ++i)
    chosen.distance2_m2[i] = distance2(candidates.places[i], p);
  double limit = squared(neighbourhood_.within_m);
  std::size_t ties = count;
  if (static_cast<std::size_t>(most_) < count) {
    chosen.scratch = chosen.distance2_m2;
    if (left_out >= 0) {
      const auto at =
          std::lower_bound(candidates.samples.begin(), candidates.samples.end(), left_out) -
          candidates.samples.begin();
      chosen.scratch[static_cast<std::size_t>(at)] = std::numeric_limits<double>::infinity();
    }
    const auto last = chosen.scratch.begin() + (most_ - 1);
    std::nth_element(chosen.scratch.begin(), last, chosen.scratch.end());
    if (*last <= limit) {
      limit = *last;
      ties = static_cast<std::size_t>(
          most_ - std::count_if(chosen.scratch.begin(), last, [&](double d) { return d < limit; }));
    }
  }
  for (std::size_t i = 0; i < count; ++i) {
    const double d2 = chosen.distance2_m2[i];
    if (d2 > limit || candidates.samples[i] == left_out) continue;
    if (d2 == limit && ties-- == 0) {
      ties = 0;
      continue;
    }
    if (d2 <= same_place_m2) chosen.at_place = static_cast<int>(i);
    chosen.positions.push_back(static_cast<int>(i));
  }
}

namespace {

/// Squares along a side of `cells` cells that begins at cell number `from` of the grid.
int squares_along(int from, int cells, int side) {
  return (from % side + cells + side - 1) / side;
}

}  // namespace

std::size_t tiles_of(const Window& window, int side) {
  if (window.empty()) return 0;
  return static_cast<std::size_t>(squares_along(window.row, window.rows, side)) *
         static_cast<std::size_t>(squares_along(window.column, window.columns, side));
}

Tile tile_of(const Window& window, int side, std::size_t number) {
  const auto across = static_cast<std::size_t>(squares_along(window.column, window.columns, side));
  const int row = static_cast<int>(number / across) * side - window.row % side;
  const int column = static_cast<int>(number % across) * side - window.column % side;
  const int first_row = std::max(row, 0);
  const int first_column = std::max(column, 0);
  return {first_row, first_column, std::min(row + side, window.rows) - first_row,
          std::min(column + side, window.columns) - first_column};
}

void wanted_cells(const Grid& grid, const Window& window, const Tile& tile,
                  std::span<const std::uint8_t> wanted, Point origin,
                  std::vector<TileCell>& cells) {
  cells.clear();
  const double x_left = grid.x_left - origin.x;
  const double y_top = grid.y_top - origin.y;
  for (int r = 0; r < tile.rows; ++r) {
    for (int k = 0; k < tile.columns; ++k) {
      const int row = tile.row + r;
      const int column = tile.column + (r % 2 == 0 ? k : tile.columns - 1 - k);
      const std::size_t index =
          static_cast<std::size_t>(row) * static_cast<std::size_t>(window.columns) +
          static_cast<std::size_t>(column);
      if (!wanted.empty() && wanted[index] == 0) continue;
      cells.push_back({index,
                       {x_left + (window.column + column + 0.5) * grid.cell_m,
                        y_top - (window.row + row + 0.5) * grid.cell_m}});
    }
  }
}

Circle circle_around(std::span<const Point> places) {
  const Extent extent = extent_of_points(places);
  if (extent.empty()) return {};
  const Point centre{(extent.x_min + extent.x_max) / 2, (extent.y_min + extent.y_max) / 2};
  return {centre, std::hypot(extent.width(), extent.height()) / 2};
}

Circle circle_around(std::span<const TileCell> cells) {
  std::vector<Point> places;
  places.reserve(cells.size());
  for (const TileCell& cell : cells) places.push_back(cell.place);
  return circle_around(places);
}

}  // namespace evendrip
