// SPDX-License-Identifier: Apache-2.0
// What is told when a zone cannot be planned, and where.
#include "../../src/hydraulics/zone_plan.hpp"

#include "small_zone.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evendrip {
namespace {

using invented_zone::count_of;
using invented_zone::field_of;
using invented_zone::first_of;

TEST(ZonePlan, NeedsASupplyManifold) {
  Field field = field_of({.laterals = 2});
  field.manifolds.clear();
  Doubts doubts;
  EXPECT_FALSE(plan_zone(field, 0, {}, doubts));
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "no_supply_manifold");
  EXPECT_EQ(doubts[0].place.layer, "[layers] manifolds");
  EXPECT_FALSE(doubts[0].remedy.empty());
}

TEST(ZonePlan, NeedsALateralThatIsJoined) {
  Field field = field_of({.laterals = 2});
  field.manifolds[0].line = {{0, -50}, {3, -50}};
  Doubts doubts;
  EXPECT_FALSE(plan_zone(field, 0, {}, doubts));
  EXPECT_EQ(count_of(doubts, "lateral_joins_nothing"), 1U);
  EXPECT_EQ(count_of(doubts, "no_lateral_joined"), 1U);
}

TEST(ZonePlan, TellsADiameterThatIsNotStated) {
  Field field = field_of({.laterals = 2});
  field.layer_files = {{"manifolds", "pipes.gpkg|manifolds"}};
  field.zones[0].lateral.inside_diameter_mm = 0;
  field.manifolds[0].inside_diameter_mm = 0;
  Doubts doubts;
  EXPECT_FALSE(plan_zone(field, 0, {}, doubts));
  ASSERT_EQ(count_of(doubts, "bad_diameter"), 2U);
  EXPECT_EQ(doubts[0].place.column, "inside_diameter");
  EXPECT_EQ(doubts[1].place.file, "pipes.gpkg");
  EXPECT_EQ(doubts[1].place.layer, "manifolds");
  EXPECT_THAT(doubts[1].text, testing::HasSubstr("supply"));
}

TEST(ZonePlan, TellsADiameterInTheWrongUnit) {
  for (const double wrong_mm : {16'000.0, 0.016}) {
    Field field = field_of({.laterals = 2});
    field.zones[0].lateral.inside_diameter_mm = wrong_mm;
    Doubts doubts;
    EXPECT_FALSE(plan_zone(field, 0, {}, doubts));
    const Doubt* doubt = first_of(doubts, "bad_diameter");
    ASSERT_NE(doubt, nullptr) << wrong_mm;
    EXPECT_THAT(doubt->text, testing::HasSubstr(wrong_mm > 1 ? "mm was meant where m is written"
                                                             : "m was meant where mm is written"));
  }
  Field field = field_of({.laterals = 2});
  field.manifolds[0].inside_diameter_mm = 0.075;
  Doubts doubts;
  EXPECT_FALSE(plan_zone(field, 0, {}, doubts));
  EXPECT_EQ(count_of(doubts, "bad_diameter"), 1U);
}

TEST(ZonePlan, TellsASpacingOfEmittersLongerThanTheLateral) {
  Field field = field_of({.laterals = 2});
  field.zones[0].emitter.spacing_m = 500;
  for (Lateral& lateral : field.laterals) lateral.emitters = 1;
  Doubts doubts;
  EXPECT_TRUE(plan_zone(field, 0, {}, doubts));
  const Doubt* doubt = first_of(doubts, "emitter_spacing_beyond_lateral");
  ASSERT_NE(doubt, nullptr);
  EXPECT_EQ(doubt->place.column, "spacing");
  EXPECT_THAT(doubt->text, testing::HasSubstr("L1, L2"));
  EXPECT_EQ(doubt->found, "500 m");
}

TEST(ZonePlan, LeavesAFlushManifoldOutWhereEndsAreClosed) {
  Field field = field_of({.laterals = 2, .ends = LateralEnds::flush_manifold});
  Doubts doubts;
  EXPECT_EQ(plan_zone(field, 0, {}, doubts)->manifolds.size(), 2U);
  field.zones[0].lateral.ends = LateralEnds::closed;
  EXPECT_EQ(plan_zone(field, 0, {}, doubts)->manifolds.size(), 1U);
  EXPECT_EQ(count_of(doubts, "far_end_on_flush_manifold"), 1U);
}

}  // namespace
}  // namespace evendrip
