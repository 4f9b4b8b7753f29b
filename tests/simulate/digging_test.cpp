// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/digging.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "plans.hpp"

namespace evendrip {
namespace {

using test::rows_of;

const SimulatedEmitter& truth_of(const SimulatedField& field, const CaughtEmitter& one) {
  return field.laterals[static_cast<std::size_t>(one.lateral)]
      .emitters[static_cast<std::size_t>(one.emitter - 1)];
}

TEST(Digging, CaughtVolumesFollowTheTruth) {
  SimulationPlan plan = test::small_plan();
  plan.laterals_dug = 8;
  const SimulatedField field = simulated_truth(plan);
  int runs = 0;
  for (const CaughtEmitter& one : caught_emitters(field)) {
    if (one.state == "dug_damage" || one.state == "not_found") continue;
    const double expected_ml = truth_of(field, one).discharge_lph * 1000 * plan.duration_s / 3600;
    const double allowed = 5 * plan.measuring_cv * expected_ml + plan.volume_graduation_ml / 2;
    ASSERT_NEAR(one.volume_ml, expected_ml, allowed + 1e-9);
    ASSERT_NEAR(std::remainder(one.volume_ml, plan.volume_graduation_ml), 0, 1e-9);
    ASSERT_EQ(one.state == "none", expected_ml == 0);
    if (one.state == "runs") ++runs;
  }
  EXPECT_GT(runs, 80);
}

TEST(Digging, EveryDugLateralHasHeadMiddleTailAndPitsOfNeighbours) {
  SimulationPlan plan = test::small_plan();
  plan.emitters_per_lateral = 5;
  plan.replicate_share = 0;
  const SimulatedField field = simulated_truth(plan);
  std::map<std::pair<int, std::string>, std::vector<int>> pits;
  std::map<int, std::set<int>> emitters;
  for (const CaughtEmitter& one : caught_emitters(field)) {
    pits[{one.lateral, one.pit}].push_back(one.emitter);
    EXPECT_TRUE(emitters[one.lateral].insert(one.emitter).second) << "an emitter dug twice";
  }
  EXPECT_EQ(emitters.size(), 8U) << "four laterals in each of two zones";
  for (const auto& [lateral, dug] : emitters) {
    EXPECT_TRUE(dug.contains(2));
    EXPECT_TRUE(dug.contains(60));
    EXPECT_TRUE(dug.contains(118));
  }
  EXPECT_EQ(pits.size(), 40U);
  int wide = 0;
  for (const auto& [name, dug] : pits) {
    ASSERT_LE(dug.size(), 3U);
    if (dug.size() > 1) ++wide;
    for (std::size_t i = 1; i < dug.size(); ++i) ASSERT_EQ(dug[i], dug[i - 1] + 1);
  }
  EXPECT_EQ(wide, 16) << "two random pits on each of eight laterals";
}

TEST(Digging, ReplicatesRepeatTheEmitterAndDifferLittle) {
  SimulationPlan plan = test::small_plan();
  plan.replicate_share = 1;
  plan.plugged_share = 0;
  const auto caught = caught_emitters(simulated_truth(plan));
  int pairs = 0;
  for (std::size_t i = 1; i < caught.size(); ++i) {
    if (caught[i].replicate != 2) continue;
    ++pairs;
    ASSERT_EQ(caught[i].emitter, caught[i - 1].emitter);
    ASSERT_EQ(caught[i].pit, caught[i - 1].pit);
    ASSERT_NEAR(caught[i].volume_ml / caught[i - 1].volume_ml, 1, 0.08);
  }
  EXPECT_GT(pairs, 40);
}

TEST(Digging, FixesShareOneShiftAndScatterAroundIt) {
  SimulationPlan plan = test::small_plan();
  plan.laterals_dug = 8;
  plan.gps_accuracy_m = 3;
  const SimulatedField field = simulated_truth(plan);
  const Transform to_grid(wgs84(), field.frame.crs);
  double east = 0, east2 = 0;
  int n = 0;
  for (const CaughtEmitter& one : caught_emitters(field)) {
    if (one.replicate > 1) continue;
    const Point fix = to_grid(one.fix_lonlat);
    const Point place =
        field.frame.to_grid(field.along_of(truth_of(field, one).station_m),
                            field.laterals[static_cast<std::size_t>(one.lateral)].across_m);
    east += fix.x - place.x;
    east2 += (fix.x - place.x) * (fix.x - place.x);
    ++n;
  }
  const double mean = east / n;
  const double sd = std::sqrt(east2 / n - mean * mean);
  // 0.36 of the variance is each fix's own; the rest is common to the day.
  EXPECT_NEAR(sd, 0.6 * 3, 4 * 0.6 * 3 / std::sqrt(2.0 * n));
  EXPECT_LT(std::abs(mean), 4 * 0.8 * 3);
  EXPECT_GT(std::abs(mean), 1e-3);
}

TEST(Digging, PlacesByFixAloneDeclareNoLateral) {
  SimulationPlan plan = test::small_plan();
  plan.gps_only = true;
  const SimulatedField field = simulated_truth(plan);
  const auto rows = rows_of(catch_can_table(field, caught_emitters(field)));
  ASSERT_EQ(rows[0][1], "lateral");
  for (std::size_t i = 1; i < rows.size(); ++i) {
    ASSERT_EQ(rows[i].size(), rows[0].size());
    ASSERT_EQ(rows[i][1], "");
    ASSERT_EQ(rows[i][2], "");
    ASSERT_NE(rows[i][3], "");
    for (const std::string& cell : rows[i]) {
      ASSERT_EQ(cell.find("Z1-"), std::string::npos) << "the name of a pit gives the lateral away";
    }
  }
}

}  // namespace
}  // namespace evendrip
