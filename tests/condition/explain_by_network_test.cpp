// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "../../src/condition/faulty_zone.hpp"
#include "explained_zone.hpp"

namespace evendrip {
namespace {

using test::ExplainedZone;
using test::FaultyField;
using test::FaultyPlan;

FaultyPlan small_plan(LateralEnds ends = LateralEnds::closed) {
  FaultyPlan plan;
  plan.layout.ends = ends;
  plan.layout.laterals = 16;
  plan.layout.length_m = 100;
  return plan;
}

TEST(ExplainByNetwork, FindsNothingInACleanZone) {
  for (const LateralEnds ends : {LateralEnds::closed, LateralEnds::flush_manifold}) {
    const ExplainedZone explained(small_plan(ends));
    EXPECT_TRUE(explained.explanation.faults.empty()) << explained.explanation.told;
    for (const double change : explained.explanation.change) EXPECT_EQ(change, 0);
    EXPECT_TRUE(explained.model.known_change().empty());
    EXPECT_NE(explained.explanation.told.find("no fault of the pipes"), std::string::npos);
  }
}

TEST(ExplainByNetwork, FindsAShutInletFromTheCrop) {
  FaultyPlan plan = small_plan();
  plan.faults = {{FaultKind::shut, true, 6, 0, 0}};
  const ExplainedZone explained(plan);
  ASSERT_EQ(explained.explanation.faults.size(), 1U) << explained.explanation.told;
  const FoundFault& found = explained.explanation.faults[0];
  EXPECT_EQ(found.fault.line, 6);
  EXPECT_LT(found.fault.station_m, 20);
  // Nothing passes; the crop alone leaves the amount loose, for its slope is not known either.
  EXPECT_LT(found.delivery, 0.35);
  EXPECT_GT(found.log_odds, 3);
  EXPECT_EQ(explained.model.known_change(), explained.explanation.change);
  EXPECT_NE(found.told.find("lateral L7"), std::string::npos);
}

TEST(ExplainByNetwork, FindsAShutLateralWhoseHolesAllSeemPlugged) {
  FaultyPlan plan = small_plan();
  plan.crop = false;
  plan.dug_laterals = 8;
  plan.holes_each = 4;
  plan.faults = {{FaultKind::shut, true, 5, 0, 0}};
  const ExplainedZone explained(plan);
  ASSERT_EQ(explained.explanation.faults.size(), 1U) << explained.explanation.told;
  EXPECT_EQ(explained.explanation.faults[0].fault.line, 5);
  EXPECT_LT(explained.explanation.faults[0].delivery, 0.1);
}

TEST(ExplainByNetwork, FindsTwoFaultsAndSolvesThemTogether) {
  FaultyPlan plan = small_plan();
  plan.end_gauges = {10, 14};
  plan.faults = {{FaultKind::pinch, false, 0, 12, 0.975}, {FaultKind::shut, true, 3, 0, 0}};
  const ExplainedZone explained(plan);
  const auto& faults = explained.explanation.faults;
  ASSERT_GE(faults.size(), 2U) << explained.explanation.told;
  EXPECT_TRUE(std::any_of(faults.begin(), faults.end(), [](const FoundFault& found) {
    return found.fault.on_lateral && found.fault.line == 3;
  })) << explained.explanation.told;
  EXPECT_TRUE(std::any_of(faults.begin(), faults.end(), [](const FoundFault& found) {
    return !found.fault.on_lateral;
  })) << explained.explanation.told;
  const FaultyZone exact(explained.zone.grid, *explained.zone.zone().network, {});
  std::vector<Fault> together;
  for (const FoundFault& found : faults)
    for (const Fault& fault : faults_of({found.fault, found.laterals})) together.push_back(fault);
  for (std::size_t i = 0; i < faults.size(); ++i) {
    ASSERT_FALSE(faults[i].places.empty());
    std::vector<Fault> placed;
    for (std::size_t k = 0; k < faults.size(); ++k)
      if (k != i)
        for (const Fault& fault : faults_of({faults[k].fault, faults[k].laterals}))
          placed.push_back(fault);
    for (const Fault& fault : faults_of(faults[i].places.front().shared)) placed.push_back(fault);
    EXPECT_EQ(exact.with(placed)->change, faults[i].places.front().change);
  }
  const std::vector<double> change = exact.with(together)->change;
  for (std::size_t i = 0; i < change.size(); ++i)
    EXPECT_NEAR(explained.explanation.change[i], change[i],
                0.01 + 2 * std::sqrt(explained.explanation.change_variance[i]));
}

TEST(ExplainByNetwork, FindsWhatNeighboursHaveAlikeAsOneFault) {
  FaultyPlan plan = small_plan();
  plan.seed = 3;
  for (const int lateral : {5, 6, 7, 8, 9})
    plan.faults.push_back({FaultKind::pinch, true, lateral, 30, 0.982});
  const ExplainedZone explained(plan);
  const auto& faults = explained.explanation.faults;
  ASSERT_GE(faults.size(), 1U) << explained.explanation.told;
  EXPECT_NEAR(static_cast<double>(faults[0].laterals.size()), 5, 1) << explained.explanation.told;
  EXPECT_TRUE(std::is_sorted(faults[0].laterals.begin(), faults[0].laterals.end()));
  EXPECT_NE(std::find(faults[0].laterals.begin(), faults[0].laterals.end(), 7),
            faults[0].laterals.end());
  EXPECT_NE(faults[0].told.find("laterals L"), std::string::npos) << faults[0].told;
  EXPECT_LT(explained.error(), 0.06);
}

TEST(ExplainByNetwork, LetsACoarseCropSpeakOfGroupsAlone) {
  // One weak lateral that no hole hit, and a crop that mixes four of them.
  FaultyPlan plan = small_plan();
  plan.plugged = 0;
  plan.faults = {{FaultKind::shut, true, 6, 0, 0}};
  FaultyField zone = test::faulty_field(plan);
  const auto explained_with = [&zone](const std::vector<CropDatum>& crop) {
    ZoneModel model(zone.grid, zone.holes, crop, ranges_of(zone.grid, 1));
    return explain_by_network(zone.field, zone.survey, zone.zone(), model, {}, {}, {});
  };
  EXPECT_GE(explained_with(zone.crop).faults.size(), 1U);
  for (CropDatum& datum : zone.crop) datum.sees_laterals = false;
  ZoneModel model(zone.grid, zone.holes, zone.crop, ranges_of(zone.grid, 1));
  EXPECT_EQ(model.laterals_seen(), 1);  // its footprint is of one: the flag alone says otherwise
  const auto beside = [&zone](int segment, int by) {
    const int row = std::clamp(segment / zone.grid.stations() + by, 0, zone.grid.rows() - 1);
    return row * zone.grid.stations() + segment % zone.grid.stations();
  };
  const std::vector<CropDatum> sharp = zone.crop;
  for (CropDatum& datum : zone.crop) {
    const int segment = datum.segments.front();
    datum.segments.clear();
    datum.value = 0;
    for (const int by : {-1, 0, 1, 2}) {
      datum.segments.push_back(beside(segment, by));
      datum.value += sharp[static_cast<std::size_t>(datum.segments.back())].value / 4;
    }
    datum.weights.assign(4, 0.25);
  }
  EXPECT_EQ(ZoneModel(zone.grid, zone.holes, zone.crop, ranges_of(zone.grid, 1)).laterals_seen(),
            4);
  for (const FoundFault& found : explained_with(zone.crop).faults)
    EXPECT_TRUE(!found.fault.on_lateral || found.laterals.size() >= 4) << found.told;
}

TEST(ExplainByNetwork, TakesAPressureOnlyDeficitForTheNetwork) {
  FaultyPlan plan = small_plan();
  plan.end_gauges = {2, 6, 10, 14};
  plan.faults = {{FaultKind::pinch, false, 0, 0.3, 0.96}};
  const ExplainedZone explained(plan);
  double delivery = 0;
  for (const double d : explained.zone.delivery) delivery += d;
  delivery /= static_cast<double>(explained.zone.delivery.size());
  ASSERT_LT(delivery, 0.8);
  ASSERT_GE(explained.explanation.faults.size(), 1U) << explained.explanation.told;
  EXPECT_FALSE(explained.explanation.faults[0].fault.on_lateral);
  EXPECT_GT(explained.explanation.gauge_gain, 3);
  EXPECT_LT(explained.error(), 0.08);
}

TEST(ExplainByNetwork, DoesNotKnowWhatLateralsGetWhereAFaultMayLieOnEitherSideOfThem) {
  FaultyPlan plan = small_plan();
  plan.crop = false;
  plan.plugged = 0;
  plan.dug_laterals = 3;
  plan.end_gauges = {2, 13};
  plan.faults = {{FaultKind::pinch, false, 0, 9, 0.985}};
  const ExplainedZone explained(plan);
  const NetworkExplanation& told = explained.explanation;
  ASSERT_EQ(told.faults.size(), 1U) << told.told;
  EXPECT_NE(told.faults[0].told.find("may lie anywhere"), std::string::npos) << told.faults[0].told;
  const SegmentGrid& grid = explained.zone.grid;
  const auto sd_of = [&](int row) {
    return std::sqrt(told.change_variance[static_cast<std::size_t>(grid.segment(row, 3))]);
  };
  EXPECT_LT(sd_of(0), 0.02);
  EXPECT_GT(sd_of(5), 0.05);
  EXPECT_LT(sd_of(grid.rows() - 1), 0.02);
  EXPECT_EQ(explained.model.known_change(), told.change);
}

TEST(ExplainByNetwork, SaysWhyAZoneIsNotSearched) {
  Field field = invented_zone::field_of({6, 30, 1.5, 0.5, 0.25, LateralEnds::closed});
  field.manifolds.clear();
  const Expectation expectation = expect(field, {}, {}, {});
  const SegmentGrid grid = segment_grid(field, 0, 5);
  ZoneModel model(grid, {}, {}, ranges_of(grid, 1));
  const auto explained = explain_by_network(field, {}, expectation.zones[0], model, {}, {}, {});
  EXPECT_TRUE(explained.faults.empty());
  EXPECT_EQ(explained.change.size(), static_cast<std::size_t>(grid.segments()));
  EXPECT_NE(explained.told.find("manifold"), std::string::npos) << explained.told;
}

TEST(ExplainByNetwork, DoesNotDependOnTheThreads) {
  FaultyPlan plan = small_plan();
  plan.faults = {{FaultKind::pinch, true, 6, 25, 0.95}};
  Work two;
  two.threads = 2;
  const ExplainedZone one(plan);
  const ExplainedZone other(plan, two);
  EXPECT_EQ(one.explanation.change, other.explanation.change);
  EXPECT_EQ(one.explanation.told, other.explanation.told);
}

}  // namespace
}  // namespace evendrip
