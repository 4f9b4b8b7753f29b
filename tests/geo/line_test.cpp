// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/line.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

const Line bent{{0, 0}, {10, 0}, {10, 5}};

TEST(Line, MeasuresStationsAlongItsVertices) {
  EXPECT_DOUBLE_EQ(length_m(bent), 15);
  EXPECT_EQ(point_at(bent, 4), (Point{4, 0}));
  EXPECT_EQ(point_at(bent, 12), (Point{10, 2}));
  EXPECT_EQ(point_at(bent, -3), (Point{0, 0}));
  EXPECT_EQ(point_at(bent, 99), (Point{10, 5}));
}

TEST(Line, KnowsItsDirectionOfTravel) {
  EXPECT_EQ(direction_at(bent, 3), (Point{1, 0}));
  EXPECT_EQ(direction_at(bent, 12), (Point{0, 1}));
  EXPECT_EQ(direction_at(bent, 15), (Point{0, 1}));
  EXPECT_EQ(direction_at({{0, 0}, {0, 0}, {0, 3}}, 0), (Point{0, 1}));
}

TEST(Projection, FindsFootStationAndDistance) {
  const Projection p = project_onto(bent, {12, 3});
  EXPECT_DOUBLE_EQ(p.station_m, 13);
  EXPECT_DOUBLE_EQ(p.distance_m, 2);
  EXPECT_EQ(p.foot, (Point{10, 3}));
}

TEST(Projection, TakesTheSmallestStationOfSeveralEquallyNear) {
  const Line u{{0, 0}, {0, 10}, {10, 10}, {10, 0}};
  EXPECT_DOUBLE_EQ(project_onto(u, {5, 2}).station_m, 2);
}

TEST(Projection, IsNeverFartherThanAnyStationTried) {
  std::mt19937_64 random = item_stream(7, {1});
  std::uniform_real_distribution<double> place(-50, 50);
  for (int round = 0; round < 200; ++round) {
    Line line;
    for (int i = 0; i < 6; ++i) line.push_back({place(random), place(random)});
    const Point p{place(random), place(random)};
    const Projection found = project_onto(line, p);
    double best = std::numeric_limits<double>::infinity();
    for (int i = 0; i <= 4000; ++i) {
      best = std::min(best, distance_m(p, point_at(line, length_m(line) * i / 4000)));
    }
    EXPECT_LE(found.distance_m, best + 1e-9);
    EXPECT_NEAR(found.distance_m, best, 0.1);
    EXPECT_NEAR(distance_m(point_at(line, found.station_m), found.foot), 0, 1e-9);
  }
}

TEST(PartOf, KeepsTheVerticesBetweenTwoStations) {
  EXPECT_EQ(part_of(bent, 4, 12), (Line{{4, 0}, {10, 0}, {10, 2}}));
  EXPECT_EQ(part_of(bent, -1, 10), (Line{{0, 0}, {10, 0}}));
  EXPECT_TRUE(part_of(bent, 5, 5).empty());
  EXPECT_TRUE(part_of(bent, 20, 30).empty());
}

TEST(Bearing, RunsClockwiseFromNorth) {
  EXPECT_DOUBLE_EQ(bearing_deg({{0, 0}, {0, 1}}), 0);
  EXPECT_DOUBLE_EQ(bearing_deg({{0, 0}, {1, 0}}), 90);
  EXPECT_DOUBLE_EQ(bearing_deg({{0, 0}, {0, -1}}), 180);
  EXPECT_DOUBLE_EQ(bearing_deg({{0, 0}, {-1, 0}}), 270);
  EXPECT_DOUBLE_EQ(bearing_deg(reversed({{0, 0}, {1, 1}})), 225);
}

TEST(CrossesItself, TellsLoopsAndBacktracksFromBends) {
  EXPECT_FALSE(crosses_itself(bent));
  EXPECT_FALSE(crosses_itself({{0, 0}, {5, 0}, {5, 0}, {10, 0}}));
  EXPECT_TRUE(crosses_itself({{0, 0}, {10, 0}, {10, 10}, {5, -5}}));
  EXPECT_TRUE(crosses_itself({{0, 0}, {10, 0}, {5, 0}}));
  EXPECT_TRUE(crosses_itself({{0, 0}, {10, 0}, {10, 10}, {0, 0}}));
}

TEST(Crossing, IsTheFirstAlongTheFirstLine) {
  const Line straight{{0, 0}, {20, 0}};
  const Line zigzag{{15, -1}, {15, 1}, {5, 1}, {5, -1}};
  ASSERT_TRUE(crossing(straight, zigzag));
  EXPECT_EQ(*crossing(straight, zigzag), (Point{5, 0}));
  EXPECT_EQ(*crossing(zigzag, straight), (Point{15, 0}));
}

TEST(Crossing, IsNoneWhereLinesMeetAtAnEnd) {
  const Line manifold{{0, -10}, {0, 10}};
  EXPECT_FALSE(crossing({{0, 0}, {50, 0}}, manifold));
  EXPECT_FALSE(crossing({{-1e-9, 0}, {50, 0}}, manifold));
  EXPECT_FALSE(crossing({{1, 0}, {50, 0}}, manifold));
  EXPECT_TRUE(crossing({{-1, 0}, {50, 0}}, manifold));
}

TEST(Crossing, SeesACrossingAtAVertexOfTheOther) {
  EXPECT_TRUE(crossing({{0, 0}, {20, 0}}, {{10, -5}, {10, 0}, {10, 5}}));
}

}  // namespace
}  // namespace evendrip
