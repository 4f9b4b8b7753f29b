// SPDX-License-Identifier: Apache-2.0
// How often faults of pipes are found where there are none, and where there are.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <string>

#include "explained_zone.hpp"

namespace evendrip {
namespace {

using test::ExplainedZone;
using test::FaultyPlan;

constexpr int draws = 40;

FaultyPlan plan_of(LateralEnds ends, std::uint64_t seed) {
  FaultyPlan plan;
  plan.layout.ends = ends;
  plan.end_gauges = {3, 9, 15, 21};
  plan.seed = seed;
  return plan;
}

bool on_line(const NetworkExplanation& explanation, int line) {
  return std::any_of(
      explanation.faults.begin(), explanation.faults.end(),
      [&](const FoundFault& found) { return found.fault.on_lateral && found.fault.line == line; });
}

void expect_clean(LateralEnds ends, bool crop) {
  int found = 0;
  std::string told;
  for (int i = 0; i < draws; ++i) {
    FaultyPlan plan = plan_of(ends, 1000 + static_cast<std::uint64_t>(i));
    plan.crop = crop;
    const ExplainedZone explained(plan);
    if (explained.explanation.faults.empty()) continue;
    ++found;
    told += explained.explanation.told + '\n';
  }
  EXPECT_LE(found, draws / 20) << told;
}

TEST(ExplainByNetwork, FindsNothingInNineteenOfTwentyCleanZonesWithClosedEnds) {
  expect_clean(LateralEnds::closed, true);
}

TEST(ExplainByNetwork, FindsNothingInNineteenOfTwentyCleanZonesWithFlushManifolds) {
  expect_clean(LateralEnds::flush_manifold, true);
}

TEST(ExplainByNetwork, FindsNothingInNineteenOfTwentyCleanZonesWithoutCrop) {
  expect_clean(LateralEnds::closed, false);
}

// The lateral is dug at four places and starved to less than half.
TEST(ExplainByNetwork, FindsGrossBadInletsThatHolesHit) {
  int found = 0;
  for (int i = 0; i < draws / 3; ++i) {
    FaultyPlan plan = plan_of(LateralEnds::closed, 2000 + static_cast<std::uint64_t>(i));
    plan.crop = false;
    plan.holes_each = 4;
    plan.faults = {{FaultKind::pinch, true, 10, 0, 0.987}};
    found += on_line(ExplainedZone(plan).explanation, 10) ? 1 : 0;
  }
  EXPECT_GE(found, draws / 3 * 9 / 10);
}

// No hole is on the lateral; its crop shows it.
TEST(ExplainByNetwork, FindsGrossBadLateralsThatAClearCropShows) {
  int found = 0;
  for (int i = 0; i < draws / 3; ++i) {
    FaultyPlan plan = plan_of(LateralEnds::closed, 3000 + static_cast<std::uint64_t>(i));
    plan.faults = {{FaultKind::shut, true, 11, 30, 0}};
    const NetworkExplanation explained = ExplainedZone(plan).explanation;
    found += on_line(explained, 11) && explained.faults[0].delivery < 0.5 ? 1 : 0;
  }
  EXPECT_GE(found, draws / 3 * 9 / 10);
}

// Fed from behind, laterals hardly show what happens at one place, but a manifold does.
TEST(ExplainByNetwork, FindsAShutManifoldThatAFlushManifoldFeedsFromBehind) {
  int found = 0;
  for (int i = 0; i < draws / 3; ++i) {
    FaultyPlan plan = plan_of(LateralEnds::flush_manifold, 5000 + static_cast<std::uint64_t>(i));
    plan.faults = {{FaultKind::shut, false, 0, 18, 0}};
    const auto faults = ExplainedZone(plan).explanation.faults;
    found += !faults.empty() && !faults[0].fault.on_lateral ? 1 : 0;
  }
  EXPECT_GE(found, draws / 3 * 9 / 10);
}

// r = 1 and delivery down by about 30 % behind a narrowed manifold section, gauges at four ends.
TEST(ExplainByNetwork, ExplainsPressureOnlyDeficits) {
  int found = 0;
  for (int i = 0; i < draws / 3; ++i) {
    FaultyPlan plan = plan_of(LateralEnds::closed, 4000 + static_cast<std::uint64_t>(i));
    plan.faults = {{FaultKind::pinch, false, 0, 12, 0.955}};
    const ExplainedZone explained(plan);
    const auto& faults = explained.explanation.faults;
    found += !faults.empty() && !faults[0].fault.on_lateral && explained.error() < 0.08 ? 1 : 0;
  }
  EXPECT_GE(found, draws / 3 * 95 / 100);
}

}  // namespace
}  // namespace evendrip
