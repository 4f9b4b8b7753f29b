// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/zone_network.hpp"

#include "evendrip/hydraulics/water.hpp"
#include "small_zone.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

namespace evendrip {
namespace {

using invented_zone::count_of;
using invented_zone::field_of;
using invented_zone::first_of;
using invented_zone::Layout;

ZoneNetwork built(const Field& field, const HydraulicOptions& options = {}) {
  Doubts doubts;
  auto zone = zone_network(field, 0, Terrain(field), options, doubts);
  EXPECT_TRUE(zone.has_value());
  for (const Doubt& doubt : doubts) EXPECT_EQ(doubt.code, "no_elevation") << to_text(doubt);
  return *std::move(zone);
}

double length_of(const Network& network, int first, int count) {
  double sum = 0;
  for (int p = first; p < first + count; ++p)
    sum += network.pipes[static_cast<std::size_t>(p)].length_m;
  return sum;
}

const Pipe& pipe_of(const ZoneNetwork& zone, int pipe) {
  return zone.network.pipes[static_cast<std::size_t>(pipe)];
}

TEST(ZoneNetwork, HasANodeAndAnOutletForEveryEmitterInOrder) {
  const Field field = field_of({});
  const ZoneNetwork zone = built(field);
  ASSERT_EQ(zone.laterals.size(), 20U);
  EXPECT_EQ(zone.network.outlets.size(), 20U * 400U);
  for (const NetworkLateral& lateral : zone.laterals) {
    EXPECT_EQ(lateral.emitters, 400);
    ASSERT_EQ(lateral.nodes.size(), 402U);
    ASSERT_EQ(lateral.stations_m.size(), 402U);
    EXPECT_DOUBLE_EQ(lateral.stations_m[1], 0.25);
    EXPECT_DOUBLE_EQ(lateral.stations_m[400], 199.75);
    EXPECT_DOUBLE_EQ(lateral.stations_m[401], 200);
    for (int e = 0; e < lateral.emitters; ++e) {
      EXPECT_EQ(zone.network.outlets[static_cast<std::size_t>(lateral.first_outlet + e)].node,
                lateral.nodes[static_cast<std::size_t>(e + 1)]);
    }
    for (std::size_t n = 0; n + 1 < lateral.nodes.size(); ++n) {
      const Pipe& pipe = pipe_of(zone, lateral.first_pipe + static_cast<int>(n));
      EXPECT_EQ(pipe.from, lateral.nodes[n]);
      EXPECT_EQ(pipe.to, lateral.nodes[n + 1]);
      EXPECT_NEAR(pipe.length_m, lateral.stations_m[n + 1] - lateral.stations_m[n], 1e-12);
      EXPECT_DOUBLE_EQ(pipe.diameter_m, 0.016);
    }
  }
}

TEST(ZoneNetwork, CutsTheManifoldWhereLateralsMeetItInOrder) {
  const ZoneNetwork zone = built(field_of({}));
  ASSERT_EQ(zone.sections.size(), 21U);  // inlet, 20 joints, end
  double station = 0;
  int node = zone.inlet_node;
  for (const NetworkSection& section : zone.sections) {
    EXPECT_DOUBLE_EQ(section.from_m, station);
    EXPECT_EQ(pipe_of(zone, section.pipe).from, node);
    EXPECT_DOUBLE_EQ(pipe_of(zone, section.pipe).diameter_m, 0.075);
    station = section.to_m;
    node = pipe_of(zone, section.pipe).to;
  }
  EXPECT_DOUBLE_EQ(station, 30);
  for (std::size_t i = 0; i < 20; ++i)
    EXPECT_EQ(zone.laterals[i].nodes.front(), pipe_of(zone, zone.sections[i].pipe).to);
}

TEST(ZoneNetwork, HasTheStatedPressureAtTheInlet) {
  Field field = field_of({});
  field.zones[0].inlet_pressure_kpa = 120;
  ZoneNetwork zone = built(field);
  ASSERT_EQ(zone.network.fixed_heads.size(), 1U);
  EXPECT_EQ(zone.network.fixed_heads[0].node, zone.inlet_node);
  EXPECT_DOUBLE_EQ(zone.network.fixed_heads[0].head_m, head_m(120));
  zone.set_inlet_pressure(80);
  EXPECT_DOUBLE_EQ(zone.network.fixed_heads[0].head_m, head_m(80));
  field.zones[0].inlet_pressure_kpa = 0;  // not stated: the rated pressure
  EXPECT_DOUBLE_EQ(built(field).network.fixed_heads[0].head_m, head_m(100));
}

TEST(ZoneNetwork, JoinsFarEndsToTheFlushManifold) {
  const ZoneNetwork zone = built(field_of({.ends = LateralEnds::flush_manifold}));
  std::set<int> flush_nodes;
  for (const NetworkSection& section : zone.sections) {
    if (section.manifold != 1) continue;
    flush_nodes.insert(pipe_of(zone, section.pipe).from);
    flush_nodes.insert(pipe_of(zone, section.pipe).to);
  }
  EXPECT_EQ(flush_nodes.size(), 22U);  // 20 joints and two ends
  for (const NetworkLateral& lateral : zone.laterals)
    EXPECT_TRUE(flush_nodes.contains(lateral.nodes.back()));
}

TEST(ZoneNetwork, FeedsTheSecondManifoldFromItsOwnInlet) {
  Field field = field_of({.ends = LateralEnds::both_fed});
  const ZoneNetwork zone = built(field);
  ASSERT_EQ(zone.network.fixed_heads.size(), 2U);
  EXPECT_EQ(zone.ports.size(), 2U);
  EXPECT_EQ(zone.network.fixed_heads[1].node, zone.ports[1].node);
  // Joined by a pipe instead, and without the port, one inlet feeds both.
  field.ports.pop_back();
  field.manifolds.push_back(
      invented_zone::manifold_from("link", true, 75, {{0, 0}, {-5, 100}, {0, 200}}));
  EXPECT_EQ(built(field).network.fixed_heads.size(), 1U);
}

TEST(ZoneNetwork, KeepsSectionsOfDifferentDiameterApart) {
  Field field = field_of({});
  field.manifolds[0].line = {{0, 0}, {15, 0}};
  field.manifolds.push_back(
      invented_zone::manifold_from("narrow", true, 40, {{30, 0.3}, {15.2, 0.3}}));
  HydraulicOptions options;
  Doubts doubts;
  const auto zone = zone_network(field, 0, Terrain(field), options, doubts);
  ASSERT_TRUE(zone);
  EXPECT_EQ(count_of(doubts, "island_pipe"), 0U);
  double wide = 0;
  double narrow = 0;
  for (const NetworkSection& section : zone->sections) {
    const Pipe& pipe = pipe_of(*zone, section.pipe);
    (pipe.diameter_m > 0.05 ? wide : narrow) += pipe.length_m;
  }
  EXPECT_NEAR(wide, 15, 1e-9);
  EXPECT_NEAR(narrow, 14.8, 1e-9);
}

TEST(ZoneNetwork, SharesANodeAmongLateralsThatJoinAtOnePlace) {
  Field field = field_of({.laterals = 2});
  const Zone zone = field.zones[0];
  field.laterals.push_back(
      invented_zone::lateral_from(zone, "south", {{0.75, -0.0004}, {0.75, -100}}, 100));
  const ZoneNetwork network = built(field);
  EXPECT_EQ(network.laterals[0].nodes.front(), network.laterals[2].nodes.front());
  EXPECT_NE(network.laterals[0].nodes.front(), network.laterals[1].nodes.front());
}

TEST(ZoneNetwork, NeverHasAPipeWithoutLength) {
  Field field = field_of({.laterals = 3, .length_m = 20, .first_offset_m = 0});
  field.laterals[1].line.front().y = -0.0003;
  field.ports[0].place = {0.0002, 0.4};
  field.zones[0].lateral.ends = LateralEnds::flush_manifold;
  field.manifolds.push_back(
      invented_zone::manifold_from("flush", false, 50, {{0, 20}, {3.75, 20}}));
  const ZoneNetwork zone = built(field);
  for (const Pipe& pipe : zone.network.pipes) {
    EXPECT_GE(pipe.length_m, 0.001 - 1e-12);
    EXPECT_NE(pipe.from, pipe.to);
  }
  EXPECT_EQ(zone.laterals[0].emitters, 41);  // the first at the joint, the last at the far end
  EXPECT_EQ(zone.laterals[0].nodes.size(), 43U);
}

TEST(ZoneNetwork, ClosesALineWithoutEmittersBetweenTwoJointsOfOneManifold) {
  Field field = field_of({.laterals = 2, .ends = LateralEnds::both_fed});
  field.manifolds[0].line = {{0, 0}, {4, 0}};
  field.laterals.push_back(
      invented_zone::lateral_from(field.zones[0], "short piece", {{3.5, 0}, {3.5, 0.2}}, 0.2));
  ASSERT_EQ(field.laterals[2].emitters, 0);
  Doubts doubts;
  const auto zone = zone_network(field, 0, Terrain(field), {}, doubts);
  ASSERT_TRUE(zone);
  ASSERT_EQ(zone->laterals.size(), 3U);
  EXPECT_NE(zone->laterals[2].nodes.front(), zone->laterals[2].nodes.back());
  EXPECT_GT(solve_network(zone->network).inflow_m3_s, 0);
}

TEST(ZoneNetwork, MeasuresLengthsOnTheGround) {
  Field field = field_of({.laterals = 4});
  field.scale_factor = 0.9996;
  for (Lateral& lateral : field.laterals) lateral.length_m = 200 / 0.9996;
  const ZoneNetwork zone = built(field);
  EXPECT_NEAR(length_of(zone.network, zone.laterals[0].first_pipe, 401), 200 / 0.9996, 1e-9);
  EXPECT_NEAR(zone.sections.back().to_m, 6 / 0.9996, 1e-9);
}

TEST(ZoneNetwork, AddsTheLossAtEmittersAsLengthAndThatOfTheJointAsMinorLoss) {
  Field field = field_of({.laterals = 1});
  field.zones[0].emitter.connection_loss_m = 0.1;
  const ZoneNetwork zone = built(field, {.lateral_inlet_k = 2});
  const int first = zone.laterals[0].first_pipe;
  EXPECT_NEAR(length_of(zone.network, first, 401), 200 + 400 * 0.1, 1e-9);
  EXPECT_DOUBLE_EQ(pipe_of(zone, first).minor_k, 2);
  EXPECT_DOUBLE_EQ(pipe_of(zone, first + 1).minor_k, 0);
}

TEST(ZoneNetwork, BridgesTheGapToTheManifoldAndTellsIt) {
  Field field = field_of({.laterals = 2});
  field.laterals[0].line.front().y = 1.5;
  field.laterals[0].length_m = 198.5;
  Doubts doubts;
  const auto zone = zone_network(field, 0, Terrain(field), {}, doubts);
  ASSERT_TRUE(zone);
  EXPECT_DOUBLE_EQ(zone->laterals[0].join_distance_m, 1.5);
  EXPECT_DOUBLE_EQ(pipe_of(*zone, zone->laterals[0].first_pipe).length_m, 1.75);
  ASSERT_NE(first_of(doubts, "joint_bridged"), nullptr);
  EXPECT_THAT(first_of(doubts, "joint_bridged")->found, testing::HasSubstr("1.50 m"));
}

TEST(ZoneNetwork, UsesHazenWilliamsWhereTheSpecStatesACoefficient) {
  Field field = field_of({.laterals = 1});
  EXPECT_EQ(built(field).network.frictions[0].law, FrictionLaw::darcy_weisbach);
  field.zones[0].lateral.hazen_williams_c = 140;
  const ZoneNetwork zone = built(field);
  EXPECT_EQ(zone.network.frictions[0].law, FrictionLaw::hazen_williams);
  EXPECT_DOUBLE_EQ(zone.network.frictions[0].hazen_williams_c, 140);
  EXPECT_EQ(built(field, {.law = FrictionLaw::blasius}).network.frictions[0].law,
            FrictionLaw::blasius);
}

TEST(ZoneNetwork, TakesTheViscosityOfTheWatersTemperature) {
  const Field field = field_of({.laterals = 1});
  EXPECT_DOUBLE_EQ(built(field, {.water_temperature_c = 10}).network.frictions[0].viscosity_m2_s,
                   kinematic_viscosity_m2_s(10));
  Doubts doubts;
  const auto hot = zone_network(field, 0, Terrain(field), {.water_temperature_c = 90}, doubts);
  ASSERT_TRUE(hot);
  EXPECT_DOUBLE_EQ(hot->network.frictions[0].viscosity_m2_s, kinematic_viscosity_m2_s(60));
  EXPECT_EQ(count_of(doubts, "water_temperature_beyond"), 1U);
}

TEST(ZoneNetwork, DoesNotDependOnTheOrderOrDirectionThatLinesWereDrawnIn) {
  const Field field = field_of({.laterals = 5, .ends = LateralEnds::flush_manifold});
  Field turned = field;
  std::reverse(turned.laterals.begin(), turned.laterals.end());
  for (Manifold& manifold : turned.manifolds)
    std::reverse(manifold.line.begin(), manifold.line.end());
  std::swap(turned.manifolds[0], turned.manifolds[1]);
  const ZoneNetwork a = built(field);
  const ZoneNetwork b = built(turned);
  const NetworkState state_a = solve_network(a.network);
  const NetworkState state_b = solve_network(b.network);
  for (std::size_t l = 0; l < 5; ++l) {
    for (int e = 0; e < 400; ++e) {
      const double one =
          state_a.discharge_lph[static_cast<std::size_t>(a.laterals[l].first_outlet + e)];
      const double other =
          state_b.discharge_lph[static_cast<std::size_t>(b.laterals[4 - l].first_outlet + e)];
      EXPECT_NEAR(one, other, 1e-7);
    }
  }
}

TEST(ZoneNetwork, FedFromBothSidesAlikeIsSymmetric) {
  const ZoneNetwork zone = built(field_of({.laterals = 3, .ends = LateralEnds::both_fed}));
  const NetworkState state = solve_network(zone.network);
  for (const NetworkLateral& lateral : zone.laterals) {
    const auto at = [&](int e) {
      return state.discharge_lph[static_cast<std::size_t>(lateral.first_outlet + e)];
    };
    for (int e = 0; e < 200; ++e) EXPECT_NEAR(at(e), at(399 - e), 1e-7);
    EXPECT_LT(at(200), at(0));  // the lowest lies in the middle
  }
}

TEST(ZoneNetwork, FindsThePortsOnItsPipes) {
  Field field = field_of({.ends = LateralEnds::flush_manifold});
  field.ports.push_back(invented_zone::port_from("end", "lateral_end", {2.2, 199.5}));
  field.ports.push_back(invented_zone::port_from("start", "lateral_inlet", {0.8, 0.3}));
  field.ports.push_back(invented_zone::port_from("flush", "flush_end", {30, 200.5}));
  field.ports.push_back(invented_zone::port_from("filter", "filter_in", {0, -3}));
  const ZoneNetwork zone = built(field);
  ASSERT_EQ(zone.ports.size(), 4U);
  const auto node = [&](int port) {
    for (const NetworkPort& one : zone.ports)
      if (one.port == port) return one.node;
    return -1;
  };
  EXPECT_EQ(node(0), zone.inlet_node);
  EXPECT_EQ(node(1), zone.laterals[1].nodes.back());
  EXPECT_EQ(node(2), zone.laterals[0].nodes.front());
  EXPECT_EQ(node(3), pipe_of(zone, zone.sections.back().pipe).to);
  EXPECT_EQ(node(4), -1);
}

TEST(ZoneNetwork, TellsAPortThatLiesFarFromEverything) {
  Field field = field_of({.laterals = 2});
  field.ports.push_back(invented_zone::port_from("lost", "lateral_end", {400, 400}));
  Doubts doubts;
  const auto zone = zone_network(field, 0, Terrain(field), {}, doubts);
  ASSERT_TRUE(zone);
  EXPECT_EQ(zone->ports.size(), 1U);
  ASSERT_NE(first_of(doubts, "port_joins_nothing"), nullptr);
  EXPECT_THAT(first_of(doubts, "port_joins_nothing")->text, testing::HasSubstr("lost"));
}

TEST(ZoneNetwork, SaysWhyAnEmitterCannotBeUsed) {
  Field field = field_of({.laterals = 2});
  field.zones[0].emitter.exponent = 1.5;
  Doubts doubts;
  EXPECT_FALSE(zone_network(field, 0, Terrain(field), {}, doubts));
  EXPECT_EQ(count_of(doubts, "bad_emitter"), 1U);
}

}  // namespace
}  // namespace evendrip
