// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/neighbours.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <vector>

namespace evendrip {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

/// Samples sorted by (distance, number), cut at the limits, then ascending by number.
std::vector<int> brute(const std::vector<Point>& places, const Neighbourhood& neighbourhood,
                       Point p) {
  const auto d2 = [&](int i) {
    const Point& q = places[static_cast<std::size_t>(i)];
    return (q.x - p.x) * (q.x - p.x) + (q.y - p.y) * (q.y - p.y);
  };
  std::vector<int> numbers(places.size());
  std::iota(numbers.begin(), numbers.end(), 0);
  std::sort(numbers.begin(), numbers.end(),
            [&](int a, int b) { return std::pair(d2(a), a) < std::pair(d2(b), b); });
  std::erase_if(numbers,
                [&](int i) { return d2(i) > neighbourhood.within_m * neighbourhood.within_m; });
  if (neighbourhood.most > 0 && numbers.size() > static_cast<std::size_t>(neighbourhood.most))
    numbers.resize(static_cast<std::size_t>(neighbourhood.most));
  std::sort(numbers.begin(), numbers.end());
  return numbers;
}

std::vector<int> chosen_samples(const Candidates& candidates, const Chosen& chosen) {
  std::vector<int> samples;
  for (const int position : chosen.positions)
    samples.push_back(candidates.samples[static_cast<std::size_t>(position)]);
  return samples;
}

void expect_same_as_brute(const std::vector<Point>& places, const Neighbourhood& neighbourhood) {
  const NeighbourSearch search(places, neighbourhood);
  const Grid grid{-10, 110, 3, 40, 40};
  const Window window{0, 0, 40, 40};
  Candidates candidates;
  Chosen chosen;
  std::vector<TileCell> cells;
  for (std::size_t k = 20; k < 30; ++k) {
    wanted_cells(grid, window, tile_of(window, 6, k), {}, {0, 0}, cells);
    const Circle circle = circle_around(cells);
    search.find_candidates(circle.centre, circle.radius_m, 0, candidates);
    for (const TileCell& cell : cells) {
      search.choose(candidates, cell.place, -1, chosen);
      EXPECT_EQ(chosen_samples(candidates, chosen), brute(places, neighbourhood, cell.place));
    }
  }
}

TEST(NeighbourSearch, ChoosesWhatSortingAllSamplesWouldChoose) {
  const PlacedSamples samples = placed(scattered(400));
  for (const Neighbourhood& neighbourhood :
       {Neighbourhood{1, infinite, 1}, Neighbourhood{16, infinite, 1}, Neighbourhood{16, 8, 1},
        Neighbourhood{0, 12, 1}, Neighbourhood{0, infinite, 1}, Neighbourhood{500, 20, 1}})
    expect_same_as_brute(samples.places, neighbourhood);
}

TEST(NeighbourSearch, BreaksTiesOnARegularGridByNumber) {
  std::vector<Point> places;
  for (int x = 0; x <= 100; x += 6)
    for (int y = 0; y <= 100; y += 6) places.push_back({1.0 * x, 1.0 * y});
  expect_same_as_brute(places, {7, infinite, 1});
  expect_same_as_brute(places, {0, 6, 1});
}

TEST(NeighbourSearch, LeavesOutTheSampleAskedFor) {
  const PlacedSamples samples = placed(scattered(50));
  const NeighbourSearch search(samples.places, {5, infinite, 1});
  Candidates candidates;
  Chosen chosen;
  for (int i = 0; i < samples.count(); ++i) {
    const Point here = samples.places[static_cast<std::size_t>(i)];
    search.find_candidates(here, 0, 1, candidates);
    search.choose(candidates, here, i, chosen);
    std::vector<int> expected = brute(samples.places, {6, infinite, 1}, here);
    std::erase(expected, i);
    EXPECT_EQ(chosen_samples(candidates, chosen), expected);
  }
}

TEST(PlacedSamples, AreMergedOrderedAndTraceable) {
  const Samples given{sample_at(1000.5, 7, 4), sample_at(1000.25, 9, 1), sample_at(1000.5, 7, 6)};
  const PlacedSamples samples = placed(given);
  EXPECT_EQ(samples.merged, 1);
  ASSERT_EQ(samples.count(), 2);
  EXPECT_EQ(samples.origin, (Point{1000, 7}));
  EXPECT_EQ(samples.places[0], (Point{0.25, 2}));
  EXPECT_EQ(samples.values, (std::vector<double>{1, 5}));
  EXPECT_EQ(samples.rank, (std::vector<int>{1, 0}));
  EXPECT_EQ(samples.of_sample, (std::vector<int>{1, 0, 1}));
}

TEST(Tiles, CoverEveryCellOfAWindowOnce) {
  const Grid grid{0, 100, 2, 50, 50};
  const Window window{3, 5, 23, 17};
  std::vector<int> visits(window.cells(), 0);
  std::vector<TileCell> cells;
  for (std::size_t k = 0; k < tiles_of(window, 5); ++k) {
    wanted_cells(grid, window, tile_of(window, 5, k), {}, {10, 20}, cells);
    for (const TileCell& cell : cells) {
      ++visits[cell.index];
      const int row = window.row + static_cast<int>(cell.index) / window.columns;
      const int column = window.column + static_cast<int>(cell.index) % window.columns;
      const Point centre = grid.centre(row, column);
      EXPECT_EQ(cell.place, (Point{centre.x - 10, centre.y - 20}));
    }
  }
  EXPECT_EQ(visits, std::vector<int>(window.cells(), 1));
}

}  // namespace
}  // namespace evendrip
