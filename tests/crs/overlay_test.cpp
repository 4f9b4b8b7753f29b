// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crs/overlay.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "evendrip/base/error.hpp"
#include "evendrip/base/random.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

MultiPolygon box(double x_min, double y_min, double x_max, double y_max) {
  return {{{{x_min, y_min}, {x_max, y_min}, {x_max, y_max}, {x_min, y_max}}, {}}};
}

/// Blocks of a lattice of 10 m cells, turned and set at UTM coordinates, every vertex moved a
/// little: neighbours share edges, as zones do.
class Lattice {
 public:
  Lattice(std::uint64_t item, double jitter_m)
      : random_(item_stream(5, {item})), jitter_m_(jitter_m) {}

  MultiPolygon block() {
    std::uniform_int_distribution<int> corner(0, 6);
    std::uniform_int_distribution<int> size(1, 5);
    const int i = corner(random_);
    const int j = corner(random_);
    const int di = size(random_);
    const int dj = size(random_);
    Ring ring;
    for (int k = 0; k < di; ++k) ring.push_back(vertex(i + k, j));
    for (int k = 0; k < dj; ++k) ring.push_back(vertex(i + di, j + k));
    for (int k = 0; k < di; ++k) ring.push_back(vertex(i + di - k, j + dj));
    for (int k = 0; k < dj; ++k) ring.push_back(vertex(i, j + dj - k));
    return {{ring, {}}};
  }

 private:
  Point vertex(int i, int j) {
    const double turn = 0.2853;
    const double x = 10.0 * i;
    const double y = 10.0 * j;
    std::uniform_real_distribution<double> jitter(-jitter_m_, jitter_m_);
    return {654321.123 + x * std::cos(turn) - y * std::sin(turn) + jitter(random_),
            4123456.789 + x * std::sin(turn) + y * std::cos(turn) + jitter(random_)};
  }
  std::mt19937_64 random_;
  double jitter_m_;
};

TEST(Overlay, KeepsTheAreaIdentitiesOnShapesThatShareEdges) {
  for (const double jitter_m : {0.0, 1e-9, 1e-6, 1e-3}) {
    Lattice lattice(static_cast<std::uint64_t>(jitter_m * 1e9), jitter_m);
    for (int pair = 0; pair < 150; ++pair) {
      const MultiPolygon a = lattice.block();
      const MultiPolygon b = lattice.block();
      const MultiPolygon common = intersection_of(a, b);
      const MultiPolygon rest = difference_of(a, b);
      const MultiPolygon both = union_of(a, b);
      EXPECT_NEAR(area_m2(common) + area_m2(rest), area_m2(a), 1e-4);
      EXPECT_NEAR(area_m2(both) + area_m2(common), area_m2(a) + area_m2(b), 1e-4);
      EXPECT_EQ(invalid_because(common), "");
      EXPECT_EQ(invalid_because(rest), "");
      EXPECT_EQ(invalid_because(both), "");
    }
  }
}

TEST(Overlay, ReturnsUntouchedVerticesToTheBit) {
  const MultiPolygon a{
      {{{654321.123, 4123456.789}, {654400.3, 4123456.1}, {654390.7, 4123500.9}}, {}}};
  const MultiPolygon same = union_of(a, {});
  ASSERT_EQ(same.size(), 1U);
  ASSERT_EQ(same[0].outer.size(), 3U);
  for (const Point p : a[0].outer) {
    EXPECT_NE(std::find(same[0].outer.begin(), same[0].outer.end(), p), same[0].outer.end());
  }
}

TEST(Overlay, DropsPointsAndLinesOfATouch) {
  EXPECT_TRUE(intersection_of(box(0, 0, 1, 1), box(1, 0, 2, 1)).empty());
  EXPECT_TRUE(intersection_of(box(0, 0, 1, 1), box(1, 1, 2, 2)).empty());
  EXPECT_TRUE(intersection_of(box(0, 0, 1, 1), {}).empty());
  EXPECT_EQ(union_of(box(0, 0, 1, 1), box(1, 0, 2, 1)).size(), 1U);
}

TEST(Overlay, CutsHolesAndParts) {
  const MultiPolygon ring = difference_of(box(0, 0, 10, 10), box(4, 4, 6, 6));
  ASSERT_EQ(ring.size(), 1U);
  EXPECT_EQ(ring[0].holes.size(), 1U);
  EXPECT_DOUBLE_EQ(area_m2(ring), 96);
  EXPECT_EQ(difference_of(box(0, 0, 10, 10), box(4, -1, 6, 11)).size(), 2U);
}

TEST(Buffer, HasRoundJointsOfEightSegmentsAQuarter) {
  // Square plus four sides plus a 32-sided polygon of radius 1: (32 / 2) sin(2 pi / 32).
  const double expected = 100 + 40 + 16 * std::sin(2 * std::numbers::pi / 32);
  EXPECT_NEAR(area_m2(buffer_of(box(0, 0, 10, 10), 1)), expected, 1e-9);
  EXPECT_NEAR(area_m2(buffer_of(box(0, 0, 10, 10), -1)), 64, 1e-9);
  EXPECT_TRUE(buffer_of(box(0, 0, 10, 10), -6).empty());
}

TEST(MadeValid, LeavesValidShapesAsTheyAre) {
  const MultiPolygon a = box(0.1, 0.2, 9.3, 8.7);
  EXPECT_EQ(made_valid(a), a);
  EXPECT_TRUE(made_valid({}).empty());
}

TEST(MadeValid, MendsABowTieAnOverlapAndAFlatRing) {
  const MultiPolygon bow{{{{0, 0}, {10, 10}, {10, 0}, {0, 10}}, {}}};
  EXPECT_NE(invalid_because(bow).find("5 5"), std::string::npos) << invalid_because(bow);
  EXPECT_DOUBLE_EQ(area_m2(made_valid(bow)), 50);
  MultiPolygon overlapping = box(0, 0, 2, 2);
  overlapping.push_back(box(1, 0, 3, 2)[0]);
  EXPECT_NE(invalid_because(overlapping), "");
  EXPECT_DOUBLE_EQ(area_m2(made_valid(overlapping)), 6);
  const MultiPolygon flat{{{{0, 0}, {1, 1}, {0, 0}}, {}}};
  EXPECT_NE(invalid_because(flat), "");
  EXPECT_TRUE(made_valid(flat).empty());
}

TEST(Overlay, TakesInvalidInputAsTheShapeItMeans) {
  const MultiPolygon bow{{{{0, 0}, {10, 10}, {10, 0}, {0, 10}}, {}}};
  EXPECT_DOUBLE_EQ(area_m2(intersection_of(bow, box(0, 0, 5, 10))), 25);
}

TEST(Simplified, StaysWithinTheTolerance) {
  MultiPolygon circle{{{}, {}}};
  for (int i = 0; i < 400; ++i) {
    const double angle = 2 * std::numbers::pi * i / 400;
    circle[0].outer.push_back({100 * std::cos(angle), 100 * std::sin(angle)});
  }
  const MultiPolygon coarse = simplified(circle, 0.5);
  EXPECT_LT(coarse[0].outer.size(), 100U);
  EXPECT_LT(area_m2(difference_of(circle, buffer_of(coarse, 0.5001))), 1e-6);
}

TEST(InsideParts, ComeInTheOrderAndDirectionOfTheLine) {
  const MultiPolygon two{box(0, 0, 10, 10)[0], box(20, 0, 30, 10)[0]};
  const std::vector<Line> parts = inside_parts({{40, 5}, {25, 5}, {-5, 5}}, two);
  ASSERT_EQ(parts.size(), 2U);
  EXPECT_EQ(parts[0], (Line{{30, 5}, {25, 5}, {20, 5}}));
  EXPECT_EQ(parts[1], (Line{{10, 5}, {0, 5}}));
  EXPECT_TRUE(inside_parts({{0, 20}, {10, 20}}, two).empty());
}

TEST(InsideParts, KeepALineThatStaysInsideWhole) {
  const Line line{{1, 1}, {9, 1}, {9, 9}, {5, 0.5}};
  const std::vector<Line> parts = inside_parts(line, box(0, 0, 10, 10));
  ASSERT_EQ(parts.size(), 1U);
  EXPECT_NEAR(length_m(parts[0]), length_m(line), 1e-9);
}

}  // namespace
}  // namespace evendrip
