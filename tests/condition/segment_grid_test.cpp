// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/segment_grid.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace evendrip {
namespace {

/// Laterals that run north at the given eastings, of zone 0.
Field field_at(const std::vector<double>& eastings, const std::vector<double>& lengths_m) {
  Field field;
  field.zones.resize(2);
  for (std::size_t i = 0; i < eastings.size(); ++i) {
    Lateral lateral;
    lateral.zone = 0;
    lateral.length_m = lengths_m[i];
    lateral.line = {{eastings[i], 0}, {eastings[i], lengths_m[i]}};
    field.laterals.push_back(lateral);
  }
  return field;
}

TEST(SegmentGrid, OrdersLateralsAcrossAndCutsTheLongestEvenly) {
  const Field field = field_at({3, 0, 1.5}, {100, 103, 40});
  const SegmentGrid grid = segment_grid(field, 0, 10);
  EXPECT_EQ(grid.laterals, (std::vector<int>{1, 2, 0}));
  EXPECT_NEAR(grid.across_m[2], 3, 1e-9);
  EXPECT_EQ(grid.stations(), 10);
  EXPECT_DOUBLE_EQ(grid.step_m, 10.3);
  EXPECT_TRUE(grid.present(1, 3));   // middle at 36 m of a lateral of 40 m
  EXPECT_FALSE(grid.present(1, 4));  // middle at 46 m
  EXPECT_EQ(grid.row_of(0), 2);
  EXPECT_EQ(grid.row_of(7), -1);
  EXPECT_EQ(grid.station_of(-1), 0);
  EXPECT_EQ(grid.station_of(20.7), 2);
  EXPECT_EQ(grid.station_of(500), 9);
}

TEST(SegmentGrid, TakesLateralsWhicheverWayTheyAreDrawn) {
  Field field = field_at({0, 1.5, 3}, {60, 60, 60});
  const SegmentGrid there = segment_grid(field, 0, 10);
  std::swap(field.laterals[1].line.front(), field.laterals[1].line.back());
  const SegmentGrid back = segment_grid(field, 0, 10);
  EXPECT_EQ(there.laterals, back.laterals);
  for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(there.across_m[i], back.across_m[i], 1e-9);
}

TEST(SegmentGrid, KeepsLateralsOfOnePlaceApart) {
  const SegmentGrid grid = segment_grid(field_at({0, 0, 0}, {60, 60, 60}), 0, 10);
  EXPECT_LT(grid.across_m[0], grid.across_m[1]);
  EXPECT_LT(grid.across_m[1], grid.across_m[2]);
}

TEST(SegmentGrid, NeedsLateralsAndAStep) {
  const Field field = field_at({0}, {60});
  EXPECT_THROW(segment_grid(field, 1, 10), std::invalid_argument);
  EXPECT_THROW(segment_grid(field, 0, 0), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
