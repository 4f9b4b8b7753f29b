// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/fault_search.hpp"

#include <gtest/gtest.h>

#include <vector>

#include "../../src/condition/lumped_network.hpp"
#include "faulty_field.hpp"

namespace evendrip {
namespace {

using test::FaultyField;
using test::FaultyPlan;

/// Pinched alike: where wheels crossed neighbouring laterals.
FaultyPlan pinched(const std::vector<int>& laterals, double station_m = 30) {
  FaultyPlan plan;
  plan.layout.laterals = 16;
  plan.layout.length_m = 100;
  for (const int lateral : laterals)
    plan.faults.push_back({FaultKind::pinch, true, lateral, station_m, 0.982});
  return plan;
}

SharedFault pinch_of(const std::vector<int>& laterals, double station_m = 30) {
  return {{FaultKind::pinch, true, laterals.front(), station_m, 0.982}, laterals};
}

/// All that a search needs, of a zone with its holes and its crop.
struct Searched {
  FaultyField zone;
  ZoneModel model;
  FaultyZone lumped;
  FaultyZone exact;
  GaugeEvidence gauges;
  FaultEvidence evidence;
  FaultSearch search;

  explicit Searched(const FaultyPlan& plan)
      : zone(test::faulty_field(plan)),
        model(zone.grid, zone.holes, zone.crop, ranges_of(zone.grid, 1)),
        lumped(zone.grid, lumped_network(zone.grid, *zone.zone().network), {}),
        exact(zone.grid, *zone.zone().network, {}),
        gauges(zone.field.zones[0], zone.zone(), {}, {}, zone.grid, lumped.network()),
        evidence(model, {}, {}, 0.75, gauges, {}, exact.clean()),
        search(lumped, exact, zone.grid, shared_candidates(zone.field, zone.grid, zone.zone(), 1),
               1, {}) {}
};

TEST(FaultSearch, TakesASingleLateralIntoTheGroupFoundAfterIt) {
  Searched searched(pinched({5, 6, 7, 8, 9}));
  searched.search.accept(pinch_of({6}), searched.evidence);
  searched.search.accept(pinch_of({7, 8, 9}), searched.evidence);
  const auto taken = searched.search.take_in(searched.evidence);
  ASSERT_TRUE(taken);
  EXPECT_EQ(taken->earlier, 0U);
  EXPECT_EQ(taken->one.shared.laterals, (std::vector{5, 6, 7, 8, 9}));
  EXPECT_NEAR(taken->one.shared.fault.station_m, 30, 13);
  EXPECT_GT(searched.search.log_odds(taken->one), 0);
  EXPECT_EQ(searched.evidence.known().change,
            searched.exact.with(faults_of(taken->one.shared))->change);
  for (const double change : taken->before.change) EXPECT_EQ(change, 0);
  EXPECT_FALSE(searched.search.take_in(searched.evidence));
}

TEST(FaultSearch, KeepsFaultsApartThatLieApart) {
  Searched searched(pinched({2, 12}));
  searched.search.accept(pinch_of({2}), searched.evidence);
  searched.search.accept(pinch_of({12}), searched.evidence);
  const std::vector<double> before = searched.evidence.known().change;
  EXPECT_FALSE(searched.search.take_in(searched.evidence));
  EXPECT_EQ(searched.evidence.known().change, before);
}

TEST(FaultSearch, KeepsNeighboursApartThatDiffer) {
  FaultyPlan plan = pinched({5, 6, 7});
  plan.faults.push_back({FaultKind::shut, true, 8, 0, 0});
  Searched searched(plan);
  searched.search.accept({plan.faults.back(), {8}}, searched.evidence);
  searched.search.accept(pinch_of({5, 6, 7}), searched.evidence);
  const std::vector<double> before = searched.evidence.known().change;
  EXPECT_FALSE(searched.search.take_in(searched.evidence));
  EXPECT_EQ(searched.evidence.known().change, before);
}

}  // namespace
}  // namespace evendrip
