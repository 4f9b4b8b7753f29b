// SPDX-License-Identifier: Apache-2.0
// Faults and open ends in the network of a zone.
#include "evendrip/hydraulics/water.hpp"
#include "evendrip/hydraulics/zone_network.hpp"
#include "small_zone.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>
#include <numeric>
#include <stdexcept>

namespace evendrip {
namespace {

using invented_zone::field_of;
using invented_zone::Layout;

ZoneNetwork built(const Field& field) {
  Doubts doubts;
  return *zone_network(field, 0, Terrain(field), {}, doubts);
}

double discharge(const ZoneNetwork& zone, const NetworkState& state, int lateral, int emitter) {
  const NetworkLateral& laid = zone.laterals[static_cast<std::size_t>(lateral)];
  return state.discharge_lph[static_cast<std::size_t>(laid.first_outlet + emitter)];
}

ZoneNetwork with_one(const ZoneNetwork& clean, const Fault& fault) {
  return with_faults(clean, std::span(&fault, 1));
}

Fault shut_at(int lateral, double station_m) {
  return {FaultKind::shut, true, lateral, station_m, 0};
}

// 20 laterals of 200 m, 16 mm inside, flush manifold of 50 mm: water comes back through the flush
// manifold. Expected range as asked of the model: about 0.80 at the shut inlet, 0.99 at the far
// end.
TEST(ShutInlet, IsFedBackwardsThroughAFlushManifold) {
  const ZoneNetwork clean = built(field_of({.ends = LateralEnds::flush_manifold}));
  const NetworkState sound = solve_network(clean.network);
  const ZoneNetwork faulty = with_one(clean, shut_at(9, 0));
  const NetworkState state = solve_network(faulty.network);
  const auto share = [&](int emitter) {
    return discharge(faulty, state, 9, emitter) / discharge(clean, sound, 9, emitter);
  };
  EXPECT_NEAR(share(0), 0.80, 0.05);
  EXPECT_NEAR(share(399), 0.99, 0.01);
  for (int e = 1; e < 400; ++e) EXPECT_GE(share(e), share(e - 1));
}

TEST(ShutInlet, LeavesALateralWithClosedEndDry) {
  const ZoneNetwork clean = built(field_of({}));
  const ZoneNetwork faulty = with_one(clean, shut_at(9, 0));
  const NetworkState state = solve_network(faulty.network);
  for (int e = 0; e < 400; ++e) EXPECT_EQ(discharge(faulty, state, 9, e), 0);
  const NetworkState sound = solve_network(clean.network);
  EXPECT_GT(discharge(faulty, state, 10, 399), discharge(clean, sound, 10, 399));
}

TEST(Shut, StopsWhatLiesBehindItsStation) {
  const ZoneNetwork clean = built(field_of({.laterals = 2}));
  for (const double station : {100.0, 100.25, 100.4}) {
    const ZoneNetwork faulty = with_one(clean, shut_at(0, station));
    const NetworkState state = solve_network(faulty.network);
    // Emitter e sits at 0.25 + 0.5 e; one at the station itself still runs.
    const int last = static_cast<int>((station - 0.25) / 0.5 + 1e-9);
    EXPECT_GT(discharge(faulty, state, 0, last), 0.5) << station;
    EXPECT_EQ(discharge(faulty, state, 0, last + 1), 0) << station;
  }
}

TEST(Shut, OfAManifoldDriesTheLateralsBehindIt) {
  const ZoneNetwork clean = built(field_of({.laterals = 6}));
  const ZoneNetwork faulty = with_one(clean, {FaultKind::shut, false, 0, 4.0, 0});
  const NetworkState state = solve_network(faulty.network);
  EXPECT_GT(discharge(faulty, state, 2, 0), 0.5);  // joins at 3.75 m
  EXPECT_EQ(discharge(faulty, state, 3, 0), 0);    // joins at 5.25 m
}

TEST(Pinch, LosesWhatBordaCarnotSays) {
  const ZoneNetwork clean = built(field_of({.laterals = 1}));
  const ZoneNetwork faulty = with_one(clean, {FaultKind::pinch, true, 0, 50.1, 0.9});
  const NetworkState state = solve_network(faulty.network);
  const NetworkLateral& lateral = faulty.laterals[0];
  const std::size_t before = 100;  // node of the emitter at 49.75 m
  const auto pipe = static_cast<std::size_t>(lateral.first_pipe) + before;
  const double drop = state.head_m[static_cast<std::size_t>(lateral.nodes[before])] -
                      state.head_m[static_cast<std::size_t>(lateral.nodes[before + 1])];
  const double velocity = velocity_m_s(state.flow_m3_s[pipe], 0.016);
  const double friction =
      head_loss(faulty.network.frictions[0], 0.5, 0.016, 0, state.flow_m3_s[pipe]).head_m;
  // Sudden enlargement behind the contracted jet of area 0.1 (0.62 + 0.38 x 0.001) of the bore.
  const double jet = velocity / (0.1 * (0.62 + 0.38 * 0.001));
  EXPECT_NEAR(drop - friction, (jet - velocity) * (jet - velocity) / (2 * gravity_m_s2), 1e-9);
}

TEST(Pinch, OfNothingChangesNothing) {
  const ZoneNetwork clean = built(field_of({.laterals = 1}));
  const ZoneNetwork same = with_one(clean, {FaultKind::pinch, true, 0, 50, 0});
  for (std::size_t i = 0; i < clean.network.pipes.size(); ++i)
    EXPECT_EQ(same.network.pipes[i].minor_k, clean.network.pipes[i].minor_k);
}

TEST(Cut, SplitsThePipeAtItsStationAndLetsWaterOut) {
  const ZoneNetwork clean = built(field_of({.laterals = 2}));
  const ZoneNetwork faulty = with_one(clean, {FaultKind::cut, true, 0, 60.1, 0.05});
  ASSERT_EQ(faulty.outlet_of_fault.size(), 1U);
  const Outlet& leak = faulty.network.outlets[static_cast<std::size_t>(faulty.outlet_of_fault[0])];
  EXPECT_EQ(faulty.network.elevation_m.size(), clean.network.elevation_m.size() + 1);
  ASSERT_EQ(faulty.network.pipes.size(), clean.network.pipes.size() + 1);
  const auto pipe = static_cast<std::size_t>(faulty.laterals[0].first_pipe + 120);  // from 59.75 m
  EXPECT_EQ(faulty.network.pipes[pipe].to, leak.node);
  EXPECT_NEAR(faulty.network.pipes[pipe].length_m, 0.35, 1e-9);
  EXPECT_EQ(faulty.network.pipes.back().from, leak.node);
  EXPECT_EQ(faulty.network.pipes.back().to, faulty.laterals[0].nodes[121]);
  EXPECT_NEAR(faulty.network.pipes.back().length_m, 0.15, 1e-9);

  const NetworkState state = solve_network(faulty.network);
  const double area = 0.05 * std::numbers::pi / 4 * 0.016 * 0.016;
  const double head = head_m(state.pressure_kpa(faulty.network, leak.node));
  const double leak_lph = state.discharge_lph[static_cast<std::size_t>(faulty.outlet_of_fault[0])];
  EXPECT_NEAR(leak_lph, 0.62 * area * std::sqrt(2 * gravity_m_s2 * head) * 3.6e6, 1e-6 * leak_lph);
  EXPECT_NEAR(std::accumulate(state.discharge_lph.begin(), state.discharge_lph.end(), 0.0) / 3.6e6,
              state.inflow_m3_s, 1e-9 * state.inflow_m3_s);
}

TEST(Cut, AtAnEmitterNeedsNoNewNode) {
  const ZoneNetwork clean = built(field_of({.laterals = 2}));
  const ZoneNetwork faulty = with_one(clean, {FaultKind::cut, true, 1, 60.25, 0.05});
  EXPECT_EQ(faulty.network.pipes.size(), clean.network.pipes.size());
  EXPECT_EQ(faulty.network.outlets.back().node, faulty.laterals[1].nodes[121]);
}

TEST(Cut, OfAManifoldSplitsItsSection) {
  const ZoneNetwork clean = built(field_of({.laterals = 2}));
  const ZoneNetwork faulty = with_one(clean, {FaultKind::cut, false, 0, 1.5, 0.01});
  ASSERT_EQ(faulty.sections.size(), clean.sections.size() + 1);
  EXPECT_DOUBLE_EQ(faulty.sections[1].to_m, 1.5);
  EXPECT_DOUBLE_EQ(faulty.sections.back().from_m, 1.5);
  EXPECT_DOUBLE_EQ(faulty.sections.back().to_m, 2.25);
  EXPECT_GT(solve_network(faulty.network).inflow_m3_s, solve_network(clean.network).inflow_m3_s);
}

TEST(Faults, InOnePipeKeepTheirOrder) {
  const ZoneNetwork clean = built(field_of({.laterals = 1}));
  const Fault cut{FaultKind::cut, true, 0, 60.1, 0.05};
  const std::array behind{shut_at(0, 60.2), cut};
  const std::array before{shut_at(0, 60.0), cut};
  const ZoneNetwork leaks = with_faults(clean, behind);
  const ZoneNetwork holds = with_faults(clean, before);
  const auto leak = [](const ZoneNetwork& zone, std::size_t fault) {
    return solve_network(zone.network)
        .discharge_lph[static_cast<std::size_t>(zone.outlet_of_fault[fault])];
  };
  EXPECT_EQ(leaks.outlet_of_fault[0], -1);
  EXPECT_GT(leak(leaks, 1), 1);
  EXPECT_EQ(leak(holds, 1), 0);
}

TEST(Faults, OfOneLineMayComeOneAfterTheOther) {
  const ZoneNetwork clean = built(field_of({.laterals = 1}));
  const std::array both{Fault{FaultKind::cut, true, 0, 60.1, 0.05},
                        Fault{FaultKind::cut, true, 0, 59.9, 0.02}};
  const NetworkState at_once = solve_network(with_faults(clean, both).network);
  const ZoneNetwork first = with_one(clean, both[0]);
  const NetworkState later = solve_network(with_one(first, both[1]).network);
  EXPECT_NEAR(at_once.inflow_m3_s, later.inflow_m3_s, 1e-9 * later.inflow_m3_s);
}

TEST(Faults, OutsideTheirLineOrRangeAreRefused) {
  const ZoneNetwork clean = built(field_of({.laterals = 1}));
  EXPECT_THROW(with_one(clean, shut_at(1, 0)), std::invalid_argument);
  EXPECT_THROW(with_one(clean, shut_at(0, 201)), std::invalid_argument);
  EXPECT_THROW(with_one(clean, shut_at(0, -1)), std::invalid_argument);
  EXPECT_THROW(with_one(clean, {FaultKind::shut, false, 1, 0, 0}), std::invalid_argument);
  EXPECT_THROW(with_one(clean, {FaultKind::pinch, true, 0, 5, 1}), std::invalid_argument);
  EXPECT_THROW(with_one(clean, {FaultKind::cut, true, 0, 5, 0}), std::invalid_argument);
}

TEST(OpenEnds, OfLateralsLoseTheVelocityHead) {
  const Field field = field_of({.laterals = 3});
  const ZoneNetwork clean = built(field);
  const std::array numbers{1};
  const ZoneNetwork open = with_open_ends(field, clean, numbers);
  const NetworkState state = solve_network(open.network);
  const double out_m3_s = state.discharge_lph.back() / 3.6e6;
  const double velocity = velocity_m_s(out_m3_s, 0.016);
  EXPECT_GT(velocity, 0.3);
  EXPECT_EQ(open.network.outlets.back().node, open.laterals[1].nodes.back());
  EXPECT_NEAR(head_m(state.pressure_kpa(open.network, open.network.outlets.back().node)),
              velocity * velocity / (2 * gravity_m_s2), 1e-6);
  EXPECT_GT(discharge(open, state, 1, 0), 0);  // emitters keep running
}

TEST(OpenEnds, OfAFlushManifoldAreItsPortsOrElseItsFreeEnds) {
  Field field = field_of({.laterals = 4, .ends = LateralEnds::flush_manifold});
  const ZoneNetwork clean = built(field);
  const ZoneNetwork both = with_open_ends(field, clean, {});
  EXPECT_EQ(both.network.outlets.size(), clean.network.outlets.size() + 2);
  field.ports.push_back(invented_zone::port_from("valve", "flush_end", {6, 200}));
  const ZoneNetwork one = with_open_ends(field, built(field), {});
  EXPECT_EQ(one.network.outlets.size(), clean.network.outlets.size() + 1);
  EXPECT_GT(solve_network(both.network).inflow_m3_s, solve_network(one.network).inflow_m3_s);
}

TEST(OpenEnds, NeedAFlushManifoldOrLaterals) {
  const Field field = field_of({.laterals = 2});
  EXPECT_THROW(with_open_ends(field, built(field), {}), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
