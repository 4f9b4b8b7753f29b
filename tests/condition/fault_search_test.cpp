// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/fault_search.hpp"

#include <gtest/gtest.h>

#include <vector>

#include "searched_zone.hpp"

namespace evendrip {
namespace {

using test::FaultyPlan;
using test::SearchedZone;

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

TEST(FaultSearch, TakesASingleLateralIntoTheGroupFoundAfterIt) {
  SearchedZone searched(pinched({5, 6, 7, 8, 9}));
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
  SearchedZone searched(pinched({2, 12}));
  searched.search.accept(pinch_of({2}), searched.evidence);
  searched.search.accept(pinch_of({12}), searched.evidence);
  const std::vector<double> before = searched.evidence.known().change;
  EXPECT_FALSE(searched.search.take_in(searched.evidence));
  EXPECT_EQ(searched.evidence.known().change, before);
}

TEST(FaultSearch, KeepsNeighboursApartThatDiffer) {
  FaultyPlan plan = pinched({5, 6, 7});
  plan.faults.push_back({FaultKind::shut, true, 8, 0, 0});
  SearchedZone searched(plan);
  searched.search.accept({plan.faults.back(), {8}}, searched.evidence);
  searched.search.accept(pinch_of({5, 6, 7}), searched.evidence);
  const std::vector<double> before = searched.evidence.known().change;
  EXPECT_FALSE(searched.search.take_in(searched.evidence));
  EXPECT_EQ(searched.evidence.known().change, before);
}

/// Two end gauges read half of what they should, the holes beyond the second are low: the section
/// before the first explains all of it, if it is narrow enough.
TEST(FaultSearch, PrefersThePlaceThatExplainsEveryGauge) {
  FaultyPlan plan;
  plan.layout.laterals = 24;
  plan.layout.length_m = 60;
  plan.dug_laterals = 3;
  plan.plugged = 0;
  plan.crop = false;
  plan.end_gauges = {0, 7, 23};
  plan.faults = {{FaultKind::pinch, false, 0, 9.7, 0.967}};
  SearchedZone searched(plan);
  const auto places = searched.search.best_places(searched.evidence);
  ASSERT_FALSE(places.empty());
  EXPECT_FALSE(places[0].shared.fault.on_lateral);
  const auto effect = searched.exact.with(faults_of(places[0].shared));
  ASSERT_TRUE(effect);
  const SegmentGrid& grid = searched.zone.grid;
  EXPECT_LT(effect->change[static_cast<std::size_t>(grid.segment(7, 0))], -0.1);
  EXPECT_GT(places[0].gain.gauges, 10);
}

TEST(FaultSearch, OfAGroupLeavesOutLateralsThatEndBefore) {
  FaultyPlan plan;
  plan.layout.laterals = 6;
  plan.layout.length_m = 60;
  const test::FaultyField zone = test::faulty_field(plan);
  ZoneNetwork network = *zone.zone().network;
  const double end_m = network.laterals[3].stations_m.back();
  // Drawn a metre shorter than its neighbours.
  for (double& station_m : network.laterals[3].stations_m) station_m *= 1 - 1 / end_m;
  const FaultyZone pipes(zone.grid, network, {});
  const FaultSearch search(pipes, pipes, zone.grid, {}, 1, {});
  const Fault pinch{FaultKind::pinch, true, network.laterals[2].lateral, end_m - 0.5, 0.99};
  const SharedFault both = {pinch, {pinch.line, network.laterals[3].lateral}};
  const auto of_both = search.exact_with(both);
  const auto of_one = search.exact_with({pinch, {}});
  ASSERT_TRUE(of_both && of_one);
  EXPECT_EQ(of_both->change, of_one->change);
  SharedFault inlets = both;
  inlets.fault.station_m = 0;
  const auto starved = search.exact_with(inlets);
  ASSERT_TRUE(starved);
  EXPECT_LT(starved->change[static_cast<std::size_t>(zone.grid.segment(3, 0))], -0.1);
}

}  // namespace
}  // namespace evendrip
