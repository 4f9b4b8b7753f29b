// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/condition_places.hpp"

#include "made_condition.hpp"

#include <gtest/gtest.h>

#include <numeric>
#include <tuple>

namespace evendrip {
namespace {

/// Two zones of parallel laterals 1.5 m apart; one of the first zone is short.
Field made_field() {
  Field field;
  for (int z = 0; z < 2; ++z) {
    Zone zone;
    zone.id = "Z" + std::to_string(z + 1);
    zone.emitter.spacing_m = 0.5;
    zone.emitter.first_offset_m = 0.25;
    field.zones.push_back(zone);
    for (int i = 0; i < 16; ++i) {
      Lateral lateral;
      lateral.id = zone.id + "-" + std::to_string(i + 1);
      lateral.zone = z;
      lateral.length_m = z == 0 && i == 15 ? 33 : 60;
      lateral.emitters = static_cast<int>(lateral.length_m * 2);
      const double y = 40.0 * z + 1.5 * i;
      lateral.line = {{0, y}, {lateral.length_m, y}};
      field.laterals.push_back(lateral);
    }
  }
  return field;
}

TEST(WaterVerdict, IsNotKnownWhereLimitsReachFromCloggedToNotLow) {
  const Thresholds thresholds;
  SegmentCondition segment;
  segment.delivery = {0.82, 0.1, 0.70, 0.94};
  segment.p_low = 0.9;
  EXPECT_EQ(verdict_on(segment, thresholds), WaterVerdict::not_known);
  segment.delivery = {0.82, 0.03, 0.77, 0.87};
  EXPECT_EQ(verdict_on(segment, thresholds), WaterVerdict::low);
  segment.p_low = 0.3;
  EXPECT_EQ(verdict_on(segment, thresholds), WaterVerdict::enough);
}

TEST(WaterVerdict, IsNotKnownWhereItHangsOnTheSlopeOfTheCrop) {
  SegmentCondition segment;
  segment.delivery = {0.6, 0.01, 0.58, 0.62};
  segment.p_low = 1;
  segment.slope_holds = false;
  EXPECT_EQ(to_text(verdict_on(segment, {})), "not known");
}

TEST(WaterVerdict, IsNotKnownWhereTheCropCannotTellWaterFromSomethingElse) {
  SegmentCondition segment;
  segment.delivery = {0.6, 0.01, 0.58, 0.62};
  segment.p_low = 1;
  EXPECT_EQ(verdict_on(segment, {}), WaterVerdict::low);
  segment.told_apart = false;
  EXPECT_EQ(verdict_on(segment, {}), WaterVerdict::not_known);
}

TEST(ConditionPlaces, FindsTheSegmentOfEveryLateralAndStation) {
  const Field field = made_field();
  const FieldCondition condition = test::made_condition(field, "yield", 0);
  const ConditionPlaces places(field, condition);
  for (int lateral = 0; lateral < 16; ++lateral) {
    for (const double station_m : {0.0, 2.5, 31.0}) {
      const auto found = places.at(lateral, station_m);
      ASSERT_TRUE(found);
      ASSERT_NE(found->segment, nullptr);
      EXPECT_EQ(found->zone, &condition.zones[0]);
      EXPECT_EQ(found->segment->row, found->zone->grid.row_of(lateral));
      EXPECT_EQ(found->segment->station, static_cast<int>(station_m / 5));
    }
  }
}

TEST(ConditionPlaces, TakeTheLastSegmentOfAShortLateralToItsEnd) {
  const Field field = made_field();
  const FieldCondition condition = test::made_condition(field, "yield", 0);
  const auto found = ConditionPlaces(field, condition).at(15, 32.9);
  ASSERT_TRUE(found && found->segment != nullptr);
  // Its seventh segment of 5 m has its middle at 32.5 m, before the end at 33 m.
  EXPECT_EQ(found->segment->station, 6);
  EXPECT_EQ(ConditionPlaces(field, condition).at(15, 60)->segment->station, 6);
}

TEST(ConditionPlaces, TellNoSegmentWhereThereAreNoHolesAndNothingForNoLateral) {
  const Field field = made_field();
  const FieldCondition condition = test::made_condition(field, "yield", 0);
  const ConditionPlaces places(field, condition);
  const auto found = places.at(condition.zones[1].grid.laterals[test::low_crop_row], 12);
  ASSERT_TRUE(found);
  EXPECT_EQ(found->segment, nullptr);
  EXPECT_TRUE(told_without_holes(*found->zone));
  EXPECT_DOUBLE_EQ(water_shaped_crop(*found->zone, found->row, found->station), 0.8);
  EXPECT_FALSE(places.at(-1, 0));
  EXPECT_FALSE(places.at(99, 0));
}

TEST(WaterParts, AddUpToThePerformanceAndWithTheNetworkToTheDelivery) {
  const Field field = made_field();
  const FieldCondition condition = test::made_condition(field, "yield", 0);
  for (const SegmentCondition& one : condition.zones[0].segments) {
    const WaterParts parts = parts_at(condition.zones[0], one.row, one.station);
    const double performance =
        1 + parts.level + parts.station + parts.lateral + parts.group + parts.local;
    EXPECT_NEAR(performance, one.performance.value, 1e-12);
    EXPECT_NEAR(performance + parts.network, one.delivery.value, 1e-12);
  }
}

TEST(WaterParts, AreZeroWhereAZoneHasNoEstimate) {
  const Field field = made_field();
  const WaterParts parts = parts_at(test::made_condition(field, "yield", 0).zones[1], 3, 2);
  EXPECT_EQ(parts.level + parts.station + parts.lateral + parts.group + parts.local + parts.network,
            0);
}

TEST(SegmentPatches, JoinWhatTouchesAndAreOrderedBySize) {
  const Field field = made_field();
  const SegmentGrid grid = segment_grid(field, 0, 5);
  const auto patches = patches_where(grid, [&grid](int row, int station) {
    return test::is_weak(grid, row, station) || (row == 0 && station < 2) ||
           (row == 1 && station == 2);  // touches the one above at a corner alone
  });
  ASSERT_EQ(patches.size(), 3U);
  EXPECT_EQ(patches[0].segments.size(), 24U);
  EXPECT_EQ(patches[0].first_row, test::weak_first);
  EXPECT_EQ(patches[0].last_row, test::weak_last);
  EXPECT_DOUBLE_EQ(patches[0].from_m, 30);
  EXPECT_DOUBLE_EQ(patches[0].to_m, 60);
  EXPECT_EQ(patches[1].segments.size(), 2U);
}

TEST(SegmentPatches, EndWhereTheirLateralsEnd) {
  const Field field = made_field();
  const SegmentGrid grid = segment_grid(field, 0, 5);
  const auto patches = patches_where(
      grid, [&](int row, int) { return grid.laterals[static_cast<std::size_t>(row)] == 15; });
  ASSERT_EQ(patches.size(), 1U);
  EXPECT_DOUBLE_EQ(patches[0].to_m, 33);
}

TEST(SegmentPatches, AreToldInTheUnitsOfTheReport) {
  Field field = made_field();
  const SegmentGrid grid = segment_grid(field, 0, 5);
  SegmentPatch patch{{}, 0, 0, 30, 60};
  const std::string first = field.laterals[static_cast<std::size_t>(grid.laterals[0])].id;
  EXPECT_EQ(told_place(field, grid, patch), "lateral " + first + ", 30 to 60 m");
  field.report_units = UnitSystem::us;
  patch.last_row = 1;
  const std::string second = field.laterals[static_cast<std::size_t>(grid.laterals[1])].id;
  EXPECT_EQ(told_place(field, grid, patch),
            "laterals " + first + " to " + second + ", 98 to 197 ft");
}

TEST(EmittersOfSegments, AreAllCountedOnce) {
  const Field field = made_field();
  const SegmentGrid grid = segment_grid(field, 0, 5);
  const std::vector<int> counts = emitters_of_segments(field, grid);
  int all = 0;
  for (int i = 0; i < 16; ++i) all += field.laterals[static_cast<std::size_t>(i)].emitters;
  EXPECT_EQ(std::accumulate(counts.begin(), counts.end(), 0), all);
  EXPECT_EQ(counts.front(), 10);
}

}  // namespace
}  // namespace evendrip
