// SPDX-License-Identifier: Apache-2.0
// An invented faulty zone with all that a search for its faults needs.
#pragma once

#include <vector>

#include "../../src/condition/fault_search.hpp"
#include "../../src/condition/lumped_network.hpp"
#include "faulty_field.hpp"

namespace evendrip::test {

inline std::vector<GaugedPlace> gauged_places(const std::vector<GaugeReading>& readings) {
  std::vector<GaugedPlace> places;
  for (const GaugeReading& reading : readings) places.push_back(reading.place);
  return places;
}

/// `parameters`: small parts of r, so that what holes show is the pipes'.
struct SearchedZone {
  FaultyField zone;
  std::vector<GaugeReading> readings;
  ZoneModel model;
  FaultyZone lumped;
  FaultyZone exact;
  GaugeEvidence gauges;
  FaultEvidence evidence;
  FaultSearch search;

  explicit SearchedZone(const FaultyPlan& plan, const ConditionParameters& parameters = {})
      : zone(faulty_field(plan)),
        readings(gauge_readings(zone.field, zone.survey, zone.zone())),
        model(zone.grid, zone.holes, zone.crop, ranges_of(zone.grid, 1)),
        lumped(zone.grid, lumped_network(zone.grid, *zone.zone().network), gauged_places(readings)),
        exact(zone.grid, *zone.zone().network, gauged_places(readings)),
        gauges(zone.field.zones[0], zone.zone(), readings, exact.clean().gauged_kpa, zone.grid,
               lumped.network()),
        evidence(model, parameters, {}, 0.75, gauges, {}, exact.clean()),
        search(lumped, exact, zone.grid, shared_candidates(zone.field, zone.grid, zone.zone(), 1),
               1, {}) {}
};

}  // namespace evendrip::test
