// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/faulty_zone.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>
#include <vector>

#include "../hydraulics/small_zone.hpp"

namespace evendrip {
namespace {

struct Small {
  Field field;
  SegmentGrid grid;
  ZoneNetwork network;

  explicit Small(LateralEnds ends = LateralEnds::closed) {
    field = invented_zone::field_of({8, 60, 1.5, 0.5, 0.25, ends});
    field.ports.push_back(invented_zone::port_from("end", "lateral_end", {3.75, 60}));
    grid = segment_grid(field, 0, 5);
    Doubts doubts;
    network = *zone_network(field, 0, Terrain(field), {}, doubts);
  }
};

FaultEffect effect_of(const FaultyZone& zone, const Fault& fault) {
  return *zone.with(std::span(&fault, 1));
}

TEST(FaultyZone, ChangesNothingWithoutAFault) {
  const Small small;
  const FaultyZone zone(small.grid, small.network, {});
  const auto same = zone.with({});
  ASSERT_TRUE(same);
  for (const double change : same->change) EXPECT_NEAR(change, 0, 1e-9);
  EXPECT_NEAR(same->inflow, 1, 1e-9);
}

TEST(FaultyZone, LosesAtTheInletWhatTheEmittersLose) {
  const Small small(LateralEnds::flush_manifold);
  const FaultyZone zone(small.grid, small.network, {});
  const FaultEffect effect = effect_of(zone, {FaultKind::pinch, true, 3, 20, 0.95});
  const NetworkState clean = solve_network(small.network.network);
  double lost = 0;
  double all = 0;
  for (const NetworkLateral& lateral : small.network.laterals)
    for (int i = 0; i < lateral.emitters; ++i) {
      const double lph = clean.discharge_lph[static_cast<std::size_t>(lateral.first_outlet + i)];
      const int segment = small.grid.segment(
          small.grid.row_of(lateral.lateral),
          small.grid.station_of(lateral.stations_m[static_cast<std::size_t>(i) + 1]));
      lost += lph * effect.change[static_cast<std::size_t>(segment)];
      all += lph;
    }
  EXPECT_LT(effect.inflow, 1);
  EXPECT_NEAR(effect.inflow - 1, lost / all, 1e-4);
}

TEST(FaultyZone, ShowsTheGaugesWhatStandsThere) {
  const Small small;
  const FaultyZone zone(small.grid, small.network, {{1, -1, 0}, {-1, 2, 30}, {}});
  const FaultEffect shut = effect_of(zone, {FaultKind::shut, true, 2, 40, 0});
  EXPECT_NEAR(shut.gauged_kpa[0], 0, 1e-6);
  EXPECT_GT(shut.gauged_kpa[1], zone.clean().gauged_kpa[1]);
  EXPECT_NEAR(shut.gauged_kpa[2], 100, 1e-6);
}

TEST(FaultyZone, LetsACutTakeMore) {
  const Small small;
  const FaultyZone zone(small.grid, small.network, {});
  const FaultEffect cut = effect_of(zone, {FaultKind::cut, true, 2, 31, 0.1});
  EXPECT_GT(cut.inflow, 1);
  EXPECT_LT(cut.change[static_cast<std::size_t>(small.grid.segment(2, 11))], -0.01);
}

TEST(FaultyZone, GivesSegmentsWithoutEmittersTheirNeighboursChange) {
  Small small;
  const SegmentGrid fine = segment_grid(small.field, 0, 0.3);
  const FaultyZone zone(fine, small.network, {});
  const FaultEffect shut = effect_of(zone, {FaultKind::shut, true, 2, 0, 0});
  for (int station = 0; station < fine.stations(); ++station)
    EXPECT_DOUBLE_EQ(shut.change[static_cast<std::size_t>(fine.segment(2, station))], -1);
}

TEST(FaultyZone, RefusesAFaultOffItsLine) {
  const Small small;
  const FaultyZone zone(small.grid, small.network, {});
  const Fault beyond{FaultKind::shut, true, 2, 75, 0};
  EXPECT_THROW(zone.with(std::span(&beyond, 1)), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
