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
  for (const FoundFault& found : faults) together.push_back(found.fault);
  EXPECT_EQ(exact.with(together)->change, explained.explanation.change);
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
