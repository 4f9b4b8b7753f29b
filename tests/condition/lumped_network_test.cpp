// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/lumped_network.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "../../src/condition/faulty_zone.hpp"
#include "../hydraulics/small_zone.hpp"

namespace evendrip {
namespace {

struct Twice {
  Field field;
  SegmentGrid grid;
  ZoneNetwork fine;
  ZoneNetwork lumped;

  explicit Twice(LateralEnds ends, double slope = 0) {
    field = invented_zone::field_of({20, 200, 1.5, 0.5, 0.25, ends});
    field.ports.push_back(invented_zone::port_from("end", "lateral_end", {0.75, 200}));
    grid = segment_grid(field, 0, 10);
    Doubts doubts;
    fine = *zone_network(field, 0, Terrain(field), {}, doubts);
    for (const NetworkLateral& lateral : fine.laterals)
      for (std::size_t i = 0; i < lateral.nodes.size(); ++i)
        fine.network.elevation_m[static_cast<std::size_t>(lateral.nodes[i])] =
            slope * lateral.stations_m[i];
    lumped = lumped_network(grid, fine);
  }
};

/// Largest difference of a change, but for the segment that the fault sits in.
double furthest_apart(const Twice& zone, const Fault& fault) {
  const FaultyZone fine(zone.grid, zone.fine, {});
  const FaultyZone lumped(zone.grid, zone.lumped, {});
  const auto a = fine.with(std::span(&fault, 1));
  const auto b = lumped.with(std::span(&fault, 1));
  const int own = fault.on_lateral ? zone.grid.segment(zone.grid.row_of(fault.line),
                                                       zone.grid.station_of(fault.station_m))
                                   : -1;
  double apart = 0;
  for (int i = 0; i < zone.grid.segments(); ++i)
    if (i != own)
      apart = std::max(apart, std::abs(a->change[static_cast<std::size_t>(i)] -
                                       b->change[static_cast<std::size_t>(i)]));
  return apart;
}

TEST(LumpedNetwork, HasOneOutletForEachSegmentAndKeepsTheManifolds) {
  const Twice zone(LateralEnds::flush_manifold);
  EXPECT_EQ(zone.lumped.network.outlets.size(), 20U * 20U);
  EXPECT_EQ(zone.lumped.sections.size(), zone.fine.sections.size());
  EXPECT_EQ(zone.lumped.laterals.front().emitters, 20);
  EXPECT_EQ(zone.lumped.laterals.front().nodes.size(), 22U);
  double fine_m = 0;
  double lumped_m = 0;
  double outlets = 0;
  for (const Pipe& pipe : zone.fine.network.pipes) fine_m += pipe.length_m;
  for (const Pipe& pipe : zone.lumped.network.pipes) lumped_m += pipe.length_m;
  for (const Outlet& outlet : zone.lumped.network.outlets) outlets += outlet.factor;
  EXPECT_NEAR(lumped_m, fine_m, 1e-6);
  EXPECT_NEAR(outlets, static_cast<double>(zone.fine.network.outlets.size()), 1e-9);
}

TEST(LumpedNetwork, TakesTheSameWater) {
  for (const LateralEnds ends :
       {LateralEnds::closed, LateralEnds::flush_manifold, LateralEnds::both_fed}) {
    const Twice zone(ends, -0.005);
    const NetworkState fine = solve_network(zone.fine.network);
    const NetworkState lumped = solve_network(zone.lumped.network);
    EXPECT_NEAR(lumped.inflow_m3_s / fine.inflow_m3_s, 1, 1e-3);
    for (std::size_t i = 0; i < zone.fine.ports.size(); ++i)
      EXPECT_NEAR(lumped.pressure_kpa(zone.lumped.network, zone.lumped.ports[i].node),
                  fine.pressure_kpa(zone.fine.network, zone.fine.ports[i].node), 0.2);
  }
}

TEST(LumpedNetwork, FeelsFaultsAsEmitterByEmitter) {
  for (const LateralEnds ends : {LateralEnds::closed, LateralEnds::flush_manifold}) {
    const Twice zone(ends);
    for (const Fault& fault :
         {Fault{FaultKind::shut, true, 7, 0, 0}, Fault{FaultKind::pinch, true, 7, 0, 0.93},
          Fault{FaultKind::shut, true, 7, 100, 0}, Fault{FaultKind::pinch, true, 7, 50, 0.9},
          Fault{FaultKind::cut, true, 7, 100, 0.05}, Fault{FaultKind::pinch, false, 0, 13, 0.9}})
      EXPECT_LT(furthest_apart(zone, fault), 0.01)
          << to_text(fault.kind) << " at " << fault.station_m << " m";
  }
}

}  // namespace
}  // namespace evendrip
