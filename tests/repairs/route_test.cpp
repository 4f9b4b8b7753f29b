// SPDX-License-Identifier: Apache-2.0
#include "evendrip/repairs/route.hpp"

#include "evendrip/base/random.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <numeric>

namespace evendrip {
namespace {

std::vector<Point> invented_places(std::uint64_t seed, std::size_t n) {
  std::mt19937_64 stream = item_stream(seed, {n});
  const auto unit = [&] { return static_cast<double>(stream() >> 11U) * 0x1.0p-53; };
  std::vector<Point> places;
  for (std::size_t i = 0; i < n; ++i) {
    const double x = 400 * unit();
    places.push_back({x, 200 * unit()});
  }
  return places;
}

double shortest_by_trying_all(Point start, const std::vector<Point>& places) {
  std::vector<int> order(places.size());
  std::iota(order.begin(), order.end(), 0);
  double shortest = walk_length_m(start, places, order);
  while (std::next_permutation(order.begin(), order.end())) {
    shortest = std::min(shortest, walk_length_m(start, places, order));
  }
  return shortest;
}

double nearest_neighbour_m(Point start, std::vector<Point> places) {
  double length = 0;
  while (!places.empty()) {
    const auto next = std::min_element(places.begin(), places.end(), [&](Point a, Point b) {
      return distance_m(start, a) < distance_m(start, b);
    });
    length += distance_m(start, *next);
    start = *next;
    places.erase(next);
  }
  return length;
}

TEST(WalkingOrder, VisitsEveryPlaceOnce) {
  for (std::size_t n = 0; n < 60; ++n) {
    std::vector<int> order = walking_order({0, 0}, invented_places(n + 1, n));
    std::sort(order.begin(), order.end());
    std::vector<int> all(n);
    std::iota(all.begin(), all.end(), 0);
    EXPECT_EQ(order, all);
  }
}

TEST(WalkingOrder, IsTheShortestOrVeryNearItForFewPlaces) {
  int shortest_found = 0;
  double excess = 0;
  constexpr int turns = 200;
  for (std::uint64_t seed = 0; seed < turns; ++seed) {
    const std::vector<Point> places = invented_places(seed, 3 + seed % 5);
    const double ours = walk_length_m({0, 0}, places, walking_order({0, 0}, places));
    const double best = shortest_by_trying_all({0, 0}, places);
    ASSERT_GE(ours, best - 1e-9);
    EXPECT_LE(ours, 1.15 * best) << "seed " << seed;
    excess += ours / best - 1;
    if (ours < best + 1e-3) ++shortest_found;
  }
  EXPECT_GE(shortest_found, turns * 9 / 10);
  EXPECT_LE(excess / turns, 0.005);
}

TEST(WalkingOrder, IsNeverLongerThanNearestNeighbour) {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    const std::vector<Point> places = invented_places(seed, 80);
    const double ours = walk_length_m({0, 0}, places, walking_order({0, 0}, places));
    EXPECT_LE(ours, nearest_neighbour_m({0, 0}, places) + 1e-9);
  }
}

TEST(WalkingOrder, WalksALineFromItsNearEnd) {
  const std::vector<Point> places = {{50, 0}, {10, 0}, {40, 0}, {20, 0}, {30, 0}};
  EXPECT_EQ(walking_order({0, 0}, places), (std::vector<int>{1, 3, 4, 2, 0}));
}

TEST(WalkingOrder, TakesTheLowerIndexOfPlacesEquallyNear) {
  EXPECT_EQ(walking_order({0, 0}, std::vector<Point>{{5, 5}, {5, 5}, {5, 5}}),
            (std::vector<int>{0, 1, 2}));
  EXPECT_EQ(walking_order({0, 0}, std::vector<Point>{{0, 9}, {9, 0}}), (std::vector<int>{0, 1}));
}

}  // namespace
}  // namespace evendrip
