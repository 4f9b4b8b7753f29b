// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/shapes.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evendrip {
namespace {

MultiPolygon frame_with_hole() {
  return {{{{0, 0}, {10, 0}, {10, 10}, {0, 10}}, {{{4, 4}, {4, 6}, {6, 6}, {6, 4}}}}};
}

TEST(Extent, IsEmptyUntilAPointIsIncluded) {
  Extent extent;
  EXPECT_TRUE(extent.empty());
  EXPECT_FALSE(extent.intersects(extent));
  EXPECT_TRUE(extent.grown(5).empty());
  extent.include(Point{3, 4});
  EXPECT_FALSE(extent.empty());
  EXPECT_TRUE(extent.contains({3, 4}));
  EXPECT_DOUBLE_EQ(extent.grown(1).width(), 2);
}

TEST(Extent, IntersectsAtASharedEdge) {
  const Extent a{0, 0, 1, 1};
  EXPECT_TRUE(a.intersects({1, 0, 2, 1}));
  EXPECT_FALSE(a.intersects({1.001, 0, 2, 1}));
}

TEST(Area, SubtractsHolesWhateverTheOrientation) {
  MultiPolygon shape = frame_with_hole();
  EXPECT_DOUBLE_EQ(area_m2(shape), 96);
  std::reverse(shape[0].outer.begin(), shape[0].outer.end());
  EXPECT_DOUBLE_EQ(area_m2(shape), 96);
}

TEST(Area, KeepsItsDigitsAtLargeCoordinates) {
  const double x = 512345.625;
  const double y = 4412345.375;
  EXPECT_DOUBLE_EQ(area_m2(Polygon{{{x, y}, {x + 0.5, y}, {x + 0.5, y + 0.5}, {x, y + 0.5}}, {}}),
                   0.25);
}

TEST(Contains, CountsTheBoundaryAndLeavesOutTheHole) {
  const MultiPolygon shape = frame_with_hole();
  EXPECT_TRUE(contains(shape, {1, 1}));
  EXPECT_TRUE(contains(shape, {0, 5}));
  EXPECT_TRUE(contains(shape, {10, 10}));
  EXPECT_TRUE(contains(shape, {4, 5}));
  EXPECT_FALSE(contains(shape, {5, 5}));
  EXPECT_FALSE(contains(shape, {10.0001, 5}));
  EXPECT_FALSE(contains({}, {0, 0}));
}

TEST(Contains, IsNotFooledByVerticesLevelWithThePoint) {
  const MultiPolygon diamond{{{{0, -1}, {1, 0}, {0, 1}, {-1, 0}}, {}}};
  EXPECT_TRUE(contains(diamond, {0, 0}));
  EXPECT_FALSE(contains(diamond, {-2, 0}));
  EXPECT_FALSE(contains(diamond, {2, 0}));
}

TEST(LabelPoint, LiesDeepInsideAShapeWhoseCentreIsOutside) {
  // A ring of 100 m radius with a 90 m hole: the deepest points are 95 m from the centre.
  Polygon ring;
  ring.holes.emplace_back();
  for (int i = 0; i < 64; ++i) {
    const double angle = 2 * std::numbers::pi * i / 64;
    ring.outer.push_back({100 * std::cos(angle), 100 * std::sin(angle)});
    ring.holes[0].push_back({90 * std::cos(angle), 90 * std::sin(angle)});
  }
  const Point label = label_point({ring});
  EXPECT_TRUE(contains({ring}, label));
  EXPECT_NEAR(std::hypot(label.x, label.y), 95, 3);
}

TEST(LabelPoint, IsInsideASliver) {
  const MultiPolygon sliver{{{{0, 0}, {1000, 1000}, {1000, 1001}}, {}}};
  EXPECT_TRUE(contains(sliver, label_point(sliver)));
}

TEST(LabelPoint, ChoosesTheDeepestPart) {
  const MultiPolygon parts{{{{0, 0}, {1, 0}, {1, 1}, {0, 1}}, {}},
                           {{{10, 0}, {30, 0}, {30, 20}, {10, 20}}, {}}};
  const Point label = label_point(parts);
  EXPECT_NEAR(label.x, 20, 0.5);
  EXPECT_NEAR(label.y, 10, 0.5);
}

}  // namespace
}  // namespace evendrip
