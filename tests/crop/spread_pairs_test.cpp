// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/association.hpp"

#include "drawn_places.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <set>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

std::set<std::pair<double, double>> set_of(const std::vector<Point>& places,
                                           const std::vector<std::size_t>& taken) {
  std::set<std::pair<double, double>> found;
  for (const std::size_t i : taken) found.emplace(places[i].x, places[i].y);
  return found;
}

TEST(SpreadOver, TakesAllWhereThereAreNoMore) {
  const std::vector<Point> places = drawn::places(7, 10, 10, 1);
  std::vector<std::size_t> all(7);
  std::iota(all.begin(), all.end(), 0U);
  EXPECT_EQ(spread_over(places, 7), all);
  EXPECT_EQ(spread_over(places, 100), all);
  EXPECT_TRUE(spread_over({}, 5).empty());
}

TEST(SpreadOver, TakesAsManyAsAskedOnceEachInTheirOrder) {
  const std::vector<Point> places = drawn::places(1000, 300, 100, 2);
  const std::vector<std::size_t> taken = spread_over(places, 137);
  ASSERT_EQ(taken.size(), 137U);
  EXPECT_TRUE(std::is_sorted(taken.begin(), taken.end()));
  EXPECT_EQ(std::adjacent_find(taken.begin(), taken.end()), taken.end());
}

TEST(SpreadOver, KeepsTheShareOfEachPartOfTheField) {
  std::vector<Point> places = drawn::places(900, 50, 50, 3);
  for (const Point far : drawn::places(100, 50, 50, 4)) places.push_back({far.x + 1000, far.y});
  const std::vector<std::size_t> taken = spread_over(places, 200);
  const auto far =
      std::count_if(taken.begin(), taken.end(), [](std::size_t i) { return i >= 900; });
  EXPECT_NEAR(static_cast<double>(far), 20, 1);
}

TEST(SpreadOver, LeavesNoPartOfAnEvenFieldBare) {
  const std::vector<Point> places = drawn::places(4000, 100, 100, 5);
  const std::vector<std::size_t> taken = spread_over(places, 400);
  std::set<std::pair<int, int>> tenths;
  for (const std::size_t i : taken) {
    tenths.emplace(static_cast<int>(places[i].x / 10), static_cast<int>(places[i].y / 10));
  }
  EXPECT_EQ(tenths.size(), 100U);  // of chance alone 100 (1 - e^-4) = 98
}

TEST(SpreadOver, DoesNotDependOnTheOrderOfThePlaces) {
  const std::vector<Point> places = drawn::places(500, 40, 70, 6);
  const std::vector<Point> turned(places.rbegin(), places.rend());
  EXPECT_EQ(set_of(places, spread_over(places, 60)), set_of(turned, spread_over(turned, 60)));
}

TEST(SpreadOver, BearsPlacesThatAreNotFiniteOrAllTheSame) {
  std::vector<Point> places(30, Point{5, 5});
  EXPECT_EQ(spread_over(places, 10).size(), 10U);
  places[3].x = std::numeric_limits<double>::quiet_NaN();
  EXPECT_EQ(spread_over(places, 10).size(), 10U);
}

}  // namespace
}  // namespace evendrip
