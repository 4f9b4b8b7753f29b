// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <cmath>

#include "evendrip/base/error.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

const MultiPolygon block{{{{1000, 2000}, {1100, 2000}, {1100, 2030}, {1000, 2030}}, {}}};

TEST(LateralLayout, LaysTheFirstLineHalfASpacingInsideAndFlowsAlongTheBearing) {
  const std::vector<Line> lines = lay_out_laterals(block, {90, 1.5, 5, 0});
  ASSERT_EQ(lines.size(), 20U);
  // Flow to the east: the left side is the north.
  EXPECT_NEAR(lines.front()[0].y, 2029.25, 1e-9);
  EXPECT_NEAR(lines.back()[0].y, 2000.75, 1e-9);
  for (const Line& line : lines) {
    EXPECT_NEAR(line.front().x, 1000, 1e-9);
    EXPECT_NEAR(line.back().x, 1100, 1e-9);
  }
}

TEST(LateralLayout, BeginsAtTheSupplyEnd) {
  for (const double bearing : {0.0, 37.0, 90.0, 180.0, 251.5, 270.0, 359.0}) {
    for (const Line& line : lay_out_laterals(block, {bearing, 2, 5, 0})) {
      const double turn = std::remainder(bearing_deg(line) - bearing, 360);
      EXPECT_NEAR(turn, 0, 1e-6) << bearing;
    }
  }
}

TEST(LateralLayout, KeepsItsSpacingAndFillsTheZone) {
  const std::vector<Line> lines = lay_out_laterals(block, {30, 1, 0, 0});
  double sum = 0;
  for (const Line& line : lines) sum += length_m(line);
  EXPECT_NEAR(sum * 1.0, area_m2(block), 0.01 * area_m2(block));
  for (std::size_t i = 0; i + 1 < lines.size(); ++i) {
    const double bearing = 30 * std::acos(-1.0) / 180;
    const double dx = lines[i + 1][0].x - lines[i][0].x;
    const double dy = lines[i + 1][0].y - lines[i][0].y;
    EXPECT_NEAR(dx * std::cos(bearing) - dy * std::sin(bearing), 1, 1e-9);
  }
}

TEST(LateralLayout, CutsAtHolesKeepsClearancesAndLeavesOutShortPieces) {
  MultiPolygon zone = block;
  zone[0].holes.push_back({{1003, 2000.5}, {1060, 2000.5}, {1060, 2029.5}, {1003, 2029.5}});
  const std::vector<Line> lines = lay_out_laterals(zone, {90, 3, 5, 0.5});
  ASSERT_EQ(lines.size(), 10U);
  for (const Line& line : lines) {
    EXPECT_NEAR(line.front().x, 1060.5, 1e-9);
    EXPECT_NEAR(line.back().x, 1099.5, 1e-9);
  }
}

TEST(LateralLayout, JoinsPartsThatShareAnEdge) {
  const MultiPolygon halves{{{{0, 0}, {50, 0}, {50, 10}, {0, 10}}, {}},
                            {{{50, 0}, {90, 0}, {90, 10}, {50, 10}}, {}}};
  const std::vector<Line> lines = lay_out_laterals(halves, {90, 2, 5, 0});
  ASSERT_EQ(lines.size(), 5U);
  EXPECT_NEAR(length_m(lines[0]), 90, 1e-9);
}

TEST(LateralLayout, RefusesASpacingThatMakesNoSense) {
  EXPECT_THROW(lay_out_laterals(block, {90, 0, 5, 0}), InputError);
  EXPECT_THROW(lay_out_laterals(block, {90, -1, 5, 0}), InputError);
  EXPECT_THROW(lay_out_laterals(block, {90, 1e-9, 5, 0}), InputError);
  EXPECT_TRUE(lay_out_laterals({}, {90, 1, 5, 0}).empty());
}

}  // namespace
}  // namespace evendrip
