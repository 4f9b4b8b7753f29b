// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/likely_places.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "searched_zone.hpp"

namespace evendrip {
namespace {

using test::FaultyPlan;
using test::SearchedZone;

/// Twelve laterals, three of them dug: nothing is known of those between but what the gauges say.
FaultyPlan dug_here_and_there() {
  FaultyPlan plan;
  plan.layout.laterals = 12;
  plan.layout.length_m = 60;
  plan.dug_laterals = 3;
  plan.plugged = 0;
  plan.laterals_sd = 0;
  plan.crop = false;
  return plan;
}

/// Of the manifold, so that the fifth lateral and those beyond it get less.
SharedFault narrowed_before_the_fifth() {
  return {{FaultKind::pinch, false, 0, 6, 0.985}, {}};
}

double sum_of_weights(const std::vector<LikelyPlace>& places) {
  double sum = 0;
  for (const LikelyPlace& place : places) sum += place.weight;
  return sum;
}

double water(const LikelyPlace& place, const SegmentGrid& grid, int row) {
  return 1 + place.change[static_cast<std::size_t>(grid.segment(row, 0))];
}

TEST(LikelyPlaces, OfAManifoldAreAllBetweenTheLastSoundHoleAndTheFirstLowOne) {
  FaultyPlan plan = dug_here_and_there();
  plan.faults = {narrowed_before_the_fifth().fault};
  SearchedZone searched(plan);
  searched.search.accept(narrowed_before_the_fifth(), searched.evidence);
  const std::vector<LikelyPlace> places = likely_places(searched.search, 0, searched.evidence);
  EXPECT_NEAR(sum_of_weights(places), 1, 1e-12);
  // Laterals 2, 6 and 10 are dug: any of the four sections between the first two would do.
  std::vector<double> first_low(12, 0);
  for (const LikelyPlace& place : places)
    for (int row = 0; row < 12; ++row)
      if (water(place, searched.zone.grid, row) < 0.9) {
        first_low[static_cast<std::size_t>(row)] += place.weight;
        break;
      }
  double within = 0;
  for (int row = 3; row <= 6; ++row) {
    EXPECT_GT(first_low[static_cast<std::size_t>(row)], 0.05) << row;
    within += first_low[static_cast<std::size_t>(row)];
  }
  EXPECT_GT(within, 0.99);
}

TEST(LikelyPlaces, AreFewWhereGaugesStandBesideTheFault) {
  FaultyPlan plan = dug_here_and_there();
  plan.faults = {narrowed_before_the_fifth().fault};
  plan.end_gauges = {3, 4};
  SearchedZone searched(plan);
  searched.search.accept(narrowed_before_the_fifth(), searched.evidence);
  const std::vector<LikelyPlace> places = likely_places(searched.search, 0, searched.evidence);
  EXPECT_GT(places.front().weight, 0.95);
  EXPECT_GT(water(places.front(), searched.zone.grid, 3), 0.95);
  EXPECT_LT(water(places.front(), searched.zone.grid, 4), 0.9);
}

TEST(LikelyPlaces, OfALateralLieBetweenItsSoundHoleAndItsLowOne) {
  FaultyPlan plan = dug_here_and_there();
  plan.faults = {{FaultKind::shut, true, 6, 40, 0}};
  SearchedZone searched(plan);
  const SharedFault found{{FaultKind::shut, true, 6, 32, 0}, {6}};
  searched.search.accept(found, searched.evidence);
  // Holes at 10, 30 and 50 m of it.
  double beyond = 0;
  for (const LikelyPlace& place : likely_places(searched.search, 0, searched.evidence))
    if (place.shared.laterals == std::vector{6} && place.shared.fault.station_m > 29 &&
        place.shared.fault.station_m < 51)
      beyond += place.weight;
  EXPECT_GT(beyond, 0.99);
}

TEST(LikelyPlaces, LeaveWhatWasFoundAsItWas) {
  FaultyPlan plan = dug_here_and_there();
  plan.faults = {narrowed_before_the_fifth().fault, {FaultKind::shut, true, 10, 0, 0}};
  SearchedZone searched(plan);
  searched.search.accept(narrowed_before_the_fifth(), searched.evidence);
  searched.search.accept({plan.faults[1], {10}}, searched.evidence);
  const std::vector<double> before = searched.evidence.known().change;
  for (const std::size_t which : {0U, 1U})
    EXPECT_GE(likely_places(searched.search, which, searched.evidence).size(), 1U);
  EXPECT_EQ(searched.evidence.known().change, before);
  EXPECT_EQ(searched.search.found().size(), 2U);
  EXPECT_EQ(searched.search.found()[1].laterals, std::vector{10});
}

TEST(LikelyPlaces, OfACutAreTheOneWhereItWasFound) {
  FaultyPlan plan = dug_here_and_there();
  plan.faults = {{FaultKind::cut, true, 6, 30, 0.2}};
  SearchedZone searched(plan);
  searched.search.accept({plan.faults[0], {6}}, searched.evidence);
  const std::vector<LikelyPlace> places = likely_places(searched.search, 0, searched.evidence);
  ASSERT_EQ(places.size(), 1U);
  EXPECT_EQ(places[0].weight, 1);
  EXPECT_EQ(places[0].change, searched.evidence.known().change);
}

NetworkExplanation one_of_two_places() {
  NetworkExplanation explanation;
  explanation.faults.resize(1);
  explanation.faults[0].places = {{{}, 0.75, {0, -0.4, -0.4}}, {{}, 0.25, {0, 0, -0.4}}};
  return explanation;
}

TEST(LikelyPlaces, DeliverTheirMeanAndSpread) {
  NetworkExplanation explanation = one_of_two_places();
  deliver_over_places({0, -0.4, -0.4}, explanation);
  EXPECT_NEAR(explanation.change[0], 0, 1e-12);
  EXPECT_NEAR(explanation.change[1], -0.3, 1e-12);
  EXPECT_NEAR(explanation.change[2], -0.4, 1e-12);
  // Of a coin that falls 3 to 1: 0.75 * 0.25 * 0.4^2.
  EXPECT_NEAR(explanation.change_variance[1], 0.03, 1e-12);
  EXPECT_NEAR(explanation.change_variance[2], 0, 1e-12);
}

TEST(LikelyPlaces, AreDrawnAsOftenAsTheyAreLikely) {
  const NetworkExplanation explanation = one_of_two_places();
  std::vector<std::vector<double>> draws(4000, {1, 0.7, 0.6});
  draw_places(explanation, 5, draws);
  double low = 0;
  for (const std::vector<double>& draw : draws) {
    EXPECT_NEAR(draw[0], 1, 1e-12);
    EXPECT_NEAR(draw[2], 0.6, 1e-12);
    EXPECT_TRUE(std::abs(draw[1] - 0.6) < 1e-12 || std::abs(draw[1] - 1) < 1e-12) << draw[1];
    low += draw[1] < 0.8 ? 1.0 : 0.0;
  }
  // Four standard deviations of a share of 0.75 in 4,000.
  EXPECT_NEAR(low / 4000, 0.75, 4 * std::sqrt(0.75 * 0.25 / 4000));
}

}  // namespace
}  // namespace evendrip
