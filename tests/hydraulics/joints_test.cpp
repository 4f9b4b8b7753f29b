// SPDX-License-Identifier: Apache-2.0
// Where ends of laterals and manifolds meet manifolds.
#include "../../src/hydraulics/zone_plan.hpp"

#include "small_zone.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evendrip {
namespace {

using invented_zone::count_of;
using invented_zone::field_of;
using invented_zone::first_of;
using invented_zone::manifold_from;

TEST(LateralPlans, LeaveOutALateralThatTouchesNoManifold) {
  Field field = field_of({.laterals = 4});
  field.laterals[2].line = {{3.75, 7}, {3.75, 200}};
  Doubts doubts;
  const auto plans = lateral_plans(field, 0, {}, doubts);
  EXPECT_EQ(plans.size(), 3U);
  const Doubt* doubt = first_of(doubts, "lateral_joins_nothing");
  ASSERT_NE(doubt, nullptr);
  EXPECT_THAT(doubt->text, testing::HasSubstr("L3"));
  EXPECT_THAT(doubt->found, testing::HasSubstr("7.0 m"));
  EXPECT_EQ(doubt->place.layer, "[layers] laterals");
  EXPECT_FALSE(doubt->remedy.empty());
  EXPECT_NE(doubt->severity, Severity::problem);
}

TEST(LateralPlans, AskToCutALateralThatAManifoldCrosses) {
  Field field = field_of({.laterals = 4});
  field.laterals[1].line = {{2.25, -100}, {2.25, 100}};
  Doubts doubts;
  EXPECT_EQ(lateral_plans(field, 0, {}, doubts).size(), 3U);
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "lateral_joins_nothing");
  EXPECT_THAT(doubts[0].text, testing::HasSubstr("L2"));
  EXPECT_THAT(doubts[0].remedy, testing::HasSubstr("in two"));
}

TEST(LateralPlans, TellAManifoldOfAnotherZoneThatIsAsNear) {
  Field field = field_of({.laterals = 4});
  field.zones.push_back(field.zones[0]);
  field.zones[1].id = "Z2";
  field.manifolds.push_back(manifold_from("neighbour", true, 75, {{5, 0}, {20, 0}}));
  field.manifolds.back().zone = 1;
  Doubts doubts;
  const auto plans = lateral_plans(field, 0, {}, doubts);
  ASSERT_EQ(plans.size(), 4U);
  EXPECT_EQ(plans[3].supply.manifold, 0);  // that of its own zone
  const Doubt* doubt = first_of(doubts, "lateral_joins_two");
  ASSERT_NE(doubt, nullptr);
  EXPECT_THAT(doubt->text, testing::HasSubstr("L4"));
  EXPECT_EQ(doubt->found, "1 laterals");
}

TEST(LateralPlans, TellClosedEndsBetweenTwoSupplyManifolds) {
  Field field = field_of({.laterals = 2, .ends = LateralEnds::both_fed});
  Doubts doubts;
  for (const LateralPlan& plan : lateral_plans(field, 0, {}, doubts)) {
    ASSERT_TRUE(plan.far);
    EXPECT_EQ(plan.far->manifold, 1);
  }
  EXPECT_TRUE(doubts.empty());
  field.zones[0].lateral.ends = LateralEnds::closed;
  for (const LateralPlan& plan : lateral_plans(field, 0, {}, doubts)) EXPECT_FALSE(plan.far);
  EXPECT_EQ(count_of(doubts, "lateral_joins_two"), 1U);
}

TEST(LateralPlans, TellFarEndsThatMissTheirManifold) {
  Field field = field_of({.laterals = 3, .ends = LateralEnds::flush_manifold});
  field.laterals[1].line.back().y = 150;
  Doubts doubts;
  const auto plans = lateral_plans(field, 0, {}, doubts);
  EXPECT_TRUE(plans[0].far);
  EXPECT_FALSE(plans[1].far);
  ASSERT_NE(first_of(doubts, "far_end_joins_nothing"), nullptr);
  EXPECT_THAT(first_of(doubts, "far_end_joins_nothing")->text, testing::HasSubstr("L2"));
}

TEST(LateralPlans, CountTheGapsInOneNote) {
  Field field = field_of({.laterals = 3});
  for (Lateral& lateral : field.laterals) lateral.line.front().y = 0.8;
  field.laterals[0].line.front().y = 1.2;
  Doubts doubts;
  lateral_plans(field, 0, {}, doubts);
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "joint_bridged");
  EXPECT_EQ(doubts[0].found, "up to 1.20 m");
  EXPECT_EQ(doubts[0].severity, Severity::note);
}

TEST(LateralPlans, ReachAsFarAsAskedOnTheGround) {
  Field field = field_of({.laterals = 1});
  field.laterals[0].line.front().y = 4.5;
  Doubts doubts;
  EXPECT_TRUE(lateral_plans(field, 0, {.joint_reach_m = 4}, doubts).empty());
  EXPECT_EQ(lateral_plans(field, 0, {.joint_reach_m = 5}, doubts).size(), 1U);
  field.scale_factor = 2;  // 2.25 m on the ground
  EXPECT_EQ(lateral_plans(field, 0, {.joint_reach_m = 4}, doubts).size(), 1U);
}

TEST(ManifoldTies, JoinEndsToEndsAndToInteriors) {
  Field field = field_of({.laterals = 1});
  field.manifolds = {manifold_from("main", true, 75, {{0, 0}, {30, 0}}),
                     manifold_from("end to end", true, 50, {{30.5, 0}, {60, 0}}),
                     manifold_from("tee", true, 50, {{10, 40}, {10, 0.2}}),
                     manifold_from("apart", true, 50, {{20, 5}, {20, 40}}),
                     manifold_from("flush", false, 50, {{10, 0}, {5, 20}})};
  const std::vector<int> all{0, 1, 2, 3, 4};
  const auto ties = manifold_ties(field, all, 2);
  ASSERT_EQ(ties.size(), 3U);  // the end to end joint is found from both sides
  EXPECT_EQ(ties[0].end.manifold, 0);
  EXPECT_EQ(ties[0].at.manifold, 1);
  EXPECT_EQ(ties[1].end.manifold, 1);
  EXPECT_DOUBLE_EQ(ties[1].at.station_m, 30);
  EXPECT_EQ(ties[2].end.manifold, 2);
  EXPECT_DOUBLE_EQ(ties[2].end.station_m, 39.8);
  EXPECT_DOUBLE_EQ(ties[2].at.station_m, 10);
}

}  // namespace
}  // namespace evendrip
