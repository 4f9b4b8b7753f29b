// SPDX-License-Identifier: Apache-2.0
#include "../../src/crop/near_strips.hpp"

#include "drawn_places.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

std::vector<int> found_around(const NearStrips& strips, Point p) {
  std::vector<int> found;
  const auto single = [&](std::size_t i) { found.push_back(strips.number(i)); };
  const auto whole = [&](std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) single(i);
  };
  strips.around(p, whole, single);
  std::sort(found.begin(), found.end());
  return found;
}

std::vector<int> all_within(const std::vector<Point>& places, Point p, double within_m) {
  std::vector<int> found;
  for (std::size_t i = 0; i < places.size(); ++i) {
    const double dx = places[i].x - p.x;
    const double dy = places[i].y - p.y;
    if (std::sqrt(dx * dx + dy * dy) <= within_m) found.push_back(static_cast<int>(i));
  }
  return found;
}

void expect_all_found(const std::vector<Point>& places, double within_m) {
  const NearStrips strips(places, within_m);
  ASSERT_EQ(strips.size(), places.size());
  for (const Point p : places)
    ASSERT_EQ(found_around(strips, p), all_within(places, p, within_m)) << p.x << ' ' << p.y;
}

TEST(NearStrips, FindThePlacesThatEveryPairTestedFinds) {
  for (const double within_m : {0.3, 7.0, 40.0, 90.0, 500.0})
    expect_all_found(drawn::places(400, 300, 120, 5), within_m);
}

TEST(NearStrips, CountPlacesExactlyAtTheDistance) {
  std::vector<Point> places;
  for (int row = 0; row < 21; ++row)
    for (int column = 0; column < 21; ++column)
      places.push_back({500'000 + 3.0 * column, 4'400'000 + 4.0 * row});
  expect_all_found(places, 5);
  expect_all_found(places, 12);
  expect_all_found(places, 25);
  for (Point& p : places) p = {0.1 * (p.x - 500'000), 0.1 * (p.y - 4'400'000)};
  expect_all_found(places, 0.5);
  expect_all_found(places, 0.3);
}

TEST(NearStrips, FindPlacesOnOneLineAndOnOneSpot) {
  std::vector<Point> places;
  for (int i = 0; i < 50; ++i) places.push_back({100, 2.0 * i});
  for (int i = 0; i < 50; ++i) places.push_back({2.0 * i, 30});
  for (int i = 0; i < 50; ++i) places.push_back({7, 7});
  expect_all_found(places, 10);
}

TEST(NearStrips, AreNotLedAstrayByOnePlaceFarAway) {
  std::vector<Point> places = drawn::places(300, 200, 200, 6);
  places.push_back({-3e6, 9e6});
  expect_all_found(places, 40);
}

TEST(NearStrips, KeepTheOrderWithinEachStrip) {
  const std::vector<Point> places = drawn::places(500, 300, 120, 7);
  const NearStrips strips(places, 30);
  ASSERT_GT(strips.strips().size(), 4U);
  ASSERT_EQ(strips.strips().back(), places.size());
  for (std::size_t strip = 0; strip + 1 < strips.strips().size(); ++strip)
    for (std::size_t i = strips.strips()[strip] + 1; i < strips.strips()[strip + 1]; ++i)
      ASSERT_LE(strips.place(i - 1).x, strips.place(i).x);
}

TEST(NearStrips, RefuseWhatIsNoDistanceAndNoPlace) {
  const std::vector<Point> places = drawn::places(5, 10, 10, 8);
  EXPECT_THROW(NearStrips(places, 0), std::invalid_argument);
  EXPECT_THROW(NearStrips(places, std::nan("")), std::invalid_argument);
  EXPECT_THROW(NearStrips(places, std::numeric_limits<double>::infinity()), std::invalid_argument);
  EXPECT_THROW(NearStrips(std::vector<Point>{{0, std::nan("")}}, 5), std::invalid_argument);
  const NearStrips none(std::vector<Point>{}, 5);
  EXPECT_TRUE(found_around(none, {0, 0}).empty());
}

}  // namespace
}  // namespace evendrip
