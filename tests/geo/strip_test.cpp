// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "evendrip/geo/coverage.hpp"

namespace evendrip {
namespace {

TEST(StripAlong, IsFlatAtItsEndsAndAsWideAsAsked) {
  const MultiPolygon strip = strip_along({{10, 10}, {40, 50}}, 0.75);
  EXPECT_NEAR(area_m2(strip), 50 * 1.5, 1e-9);
  EXPECT_TRUE(contains(strip, {10.001, 10.001}));
  EXPECT_FALSE(contains(strip, {9.9, 9.9}));
}

TEST(StripAlong, HasMitredJoints) {
  // A right angle: the outer corner adds what the inner one takes away.
  const MultiPolygon strip = strip_along({{0, 0}, {10, 0}, {10, 10}}, 1);
  EXPECT_NEAR(area_m2(strip), 20 * 2, 1e-9);
  EXPECT_TRUE(contains(strip, {10.9, -0.9}));
}

TEST(StripAlong, CutsASharpJointInsteadOfDrawingItFarOut) {
  const MultiPolygon strip = strip_along({{0, 0}, {100, 0}, {0, 5}}, 1);
  EXPECT_LT(extent_of(strip).x_max, 105);
}

TEST(StripAlong, IgnoresRepeatedPointsAndRefusesNothing) {
  EXPECT_NEAR(area_m2(strip_along({{0, 0}, {0, 0}, {5, 0}, {5, 0}}, 1)), 10, 1e-12);
  EXPECT_TRUE(strip_along({{0, 0}, {0, 0}}, 1).empty());
  EXPECT_TRUE(strip_along({{0, 0}, {1, 0}}, 0).empty());
}

}  // namespace
}  // namespace evendrip
