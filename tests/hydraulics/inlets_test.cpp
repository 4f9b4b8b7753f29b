// SPDX-License-Identifier: Apache-2.0
// Where water enters, and what it cannot reach.
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
using invented_zone::port_from;

ZonePlan planned(const Field& field, Doubts& doubts) {
  const auto plan = plan_zone(field, 0, {}, doubts);
  EXPECT_TRUE(plan);
  return plan.value_or(ZonePlan{});
}

TEST(Inlets, LieAtTheFootOfTheZoneInlet) {
  Field field = field_of({});
  field.ports[0].place = {12, -0.7};
  Doubts doubts;
  const ZonePlan plan = planned(field, doubts);
  ASSERT_EQ(plan.inlets.size(), 1U);
  EXPECT_EQ(plan.inlets[0].port, 0);
  EXPECT_DOUBLE_EQ(plan.inlets[0].at.station_m, 12);
  EXPECT_TRUE(doubts.empty());
}

TEST(Inlets, WithoutAPortLieAtTheEndNearestToTheValve) {
  Field field = field_of({});
  field.ports = {port_from("filter", "filter_out", {-5, 0}),
                 port_from("valve", "valve_in", {31, -3})};
  Doubts doubts;
  const ZonePlan plan = planned(field, doubts);
  EXPECT_DOUBLE_EQ(plan.inlets.at(0).at.station_m, 30);
  EXPECT_TRUE(doubts.empty());
}

TEST(Inlets, NotKnownAtAllAreTakenAtTheFirstPointAndTold) {
  Field field = field_of({});
  field.ports.clear();
  Doubts doubts;
  const ZonePlan plan = planned(field, doubts);
  EXPECT_DOUBLE_EQ(plan.inlets.at(0).at.station_m, 0);
  ASSERT_EQ(count_of(doubts, "inlet_not_known"), 1U);
  EXPECT_THAT(first_of(doubts, "inlet_not_known")->text, testing::HasSubstr("supply"));
}

TEST(Inlets, OfAnotherZoneDoNotCount) {
  Field field = field_of({});
  field.zones.push_back(field.zones[0]);
  field.ports[0].zones = {1};
  Doubts doubts;
  planned(field, doubts);
  EXPECT_EQ(count_of(doubts, "inlet_not_known"), 1U);
}

TEST(Inlets, AreOneForEachPartThatHasAPort) {
  Field field = field_of({.ends = LateralEnds::both_fed});
  Doubts doubts;
  EXPECT_EQ(planned(field, doubts).inlets.size(), 2U);
  field.ports.push_back(port_from("again", "zone_inlet", {30, 0}));  // on a part that has one
  EXPECT_EQ(planned(field, doubts).inlets.size(), 2U);
  EXPECT_TRUE(doubts.empty());
}

TEST(Islands, AreToldAndLeftOutWithTheirLaterals) {
  Field field = field_of({.laterals = 10});
  field.manifolds[0].line = {{0, 0}, {7, 0}};
  field.manifolds.push_back(manifold_from("island", true, 50, {{10, 0}, {15, 0}}));
  Doubts doubts;
  const ZonePlan plan = planned(field, doubts);
  EXPECT_EQ(plan.laterals.size(), 6U);  // the sixth bridges 1.25 m
  EXPECT_EQ(plan.manifolds.size(), 1U);
  ASSERT_EQ(count_of(doubts, "island_pipe"), 2U);  // the manifold and the laterals
  EXPECT_THAT(first_of(doubts, "island_pipe")->text, testing::HasSubstr("island"));
  EXPECT_EQ(first_of(doubts, "island_pipe")->place.layer, "[layers] manifolds");
}

TEST(Islands, ThatLateralsReachAreKeptAndTold) {
  Field field = field_of({.laterals = 4, .ends = LateralEnds::both_fed});
  field.ports.pop_back();  // nothing feeds the second manifold
  Doubts doubts;
  const ZonePlan plan = planned(field, doubts);
  EXPECT_EQ(plan.laterals.size(), 4U);
  EXPECT_EQ(plan.manifolds.size(), 2U);
  ASSERT_EQ(count_of(doubts, "island_pipe"), 1U);
  EXPECT_THAT(first_of(doubts, "island_pipe")->text, testing::HasSubstr("second"));
}

TEST(Islands, OfNoZoneAndWithoutLateralsAreNotTold) {
  Field field = field_of({.laterals = 4});
  field.manifolds.push_back(manifold_from("elsewhere", true, 50, {{100, 0}, {150, 0}}));
  field.manifolds.back().zone = -1;
  Doubts doubts;
  EXPECT_EQ(planned(field, doubts).manifolds.size(), 1U);
  EXPECT_TRUE(doubts.empty());
}

TEST(Ports, FarFromEveryManifoldAreTold) {
  Field field = field_of({.laterals = 4});
  field.ports[0].place = {-50, 0};
  Doubts doubts;
  const ZonePlan plan = planned(field, doubts);
  EXPECT_DOUBLE_EQ(plan.inlets.at(0).at.station_m, 0);  // the nearest place, still
  EXPECT_EQ(count_of(doubts, "port_joins_nothing"), 1U);
}

}  // namespace
}  // namespace evendrip
