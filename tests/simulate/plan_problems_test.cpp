// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "evendrip/simulate/plan.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

/// The key of the only problem; empty if there is none or another number of them.
std::string only_problem(const SimulationPlan& plan) {
  const auto problems = problems_of(plan);
  return problems.size() == 1 ? problems[0].key : "";
}

TEST(PlanProblems, ThePlansOfTheTestsHaveNone) {
  EXPECT_TRUE(problems_of(SimulationPlan{}).empty());
  EXPECT_TRUE(problems_of(test::small_plan()).empty());
  EXPECT_TRUE(problems_of(test::even_plan()).empty());
}

TEST(PlanProblems, AFaultOnAFlushManifoldNeedsOne) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {test::on_manifold("pinch", "Z1", 3, 0.9)};
  EXPECT_TRUE(problems_of(plan).empty());
  plan.faults[0].on = "flush_manifold";
  EXPECT_EQ(only_problem(plan), "fault.on") << "Z1 has closed ends";
  plan.faults[0].zone = "Z2";
  EXPECT_TRUE(problems_of(plan).empty());
}

TEST(PlanProblems, EmittersClogAndManifoldsDoNot) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {test::clogging("Z1", 1, 2, 10, 0.5, 0)};
  EXPECT_TRUE(problems_of(plan).empty());
  plan.faults[0].on = "manifold";
  EXPECT_EQ(only_problem(plan), "fault.on");
}

TEST(PlanProblems, AFaultLiesOnItsLine) {
  SimulationPlan plan = test::small_plan();  // laterals of 60 m, manifolds of 8 x 1.5 m
  plan.faults = {test::obstruction("shut", "Z1", 1, 2, 61, 0)};
  EXPECT_EQ(only_problem(plan), "fault.from_station");
  plan.faults = {test::on_manifold("shut", "Z1", 12.5, 0)};
  EXPECT_EQ(only_problem(plan), "fault.from_station");
  plan.faults = {test::on_manifold("shut", "Z1", 11.5, 0)};
  EXPECT_TRUE(problems_of(plan).empty());
}

TEST(PlanProblems, SeverityHasTheRangeOfItsKind) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {test::obstruction("pinch", "Z2", 1, 2, 10, 1)};
  EXPECT_EQ(only_problem(plan), "fault.severity") << "a whole bore lost is shut";
  plan.faults = {test::obstruction("cut", "Z2", 1, 2, 10, 0)};
  EXPECT_EQ(only_problem(plan), "fault.severity") << "no opening is no cut";
  plan.faults = {test::obstruction("cut", "Z2", 1, 2, 10, 1)};
  EXPECT_TRUE(problems_of(plan).empty());
}

TEST(PlanProblems, AnUnknownKindIsToldWithTheKnownOnes) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {test::obstruction("bend", "Z1", 1, 2, 10, 0.5)};
  ASSERT_EQ(only_problem(plan), "fault.kind");
  EXPECT_EQ(problems_of(plan)[0].expected, "clogging, pinch, shut, cut");
}

TEST(PlanProblems, PipesAreCheckedToo) {
  SimulationPlan plan = test::small_plan();
  plan.manifold_diameters_m = {0.05, 0};
  EXPECT_EQ(only_problem(plan), "manifold_diameter");
  plan.manifold_diameters_m.clear();
  EXPECT_EQ(only_problem(plan), "manifold_diameter");
  plan = test::small_plan();
  plan.inside_diameter_mm = 160;
  EXPECT_EQ(only_problem(plan), "inside_diameter_mm");
  plan = test::small_plan();
  plan.in_soil_ratio = 1.2;
  EXPECT_EQ(only_problem(plan), "in_soil_ratio");
  plan = test::small_plan();
  plan.hazen_williams_c = 20;
  EXPECT_EQ(only_problem(plan), "hazen_williams_c");
}

TEST(PlanProblems, WateringIsNotStatedOrPlausible) {
  SimulationPlan plan = test::small_plan();
  plan.set_time_s = 21600;
  plan.pulses = 2;
  plan.season_net_need_mm = 450;
  EXPECT_TRUE(problems_of(plan).empty());
  plan.season_net_need_mm = 45'000;
  EXPECT_EQ(only_problem(plan), "season_net_need");
  plan.season_net_need_mm = 450;
  plan.set_time_s = -60;
  EXPECT_EQ(only_problem(plan), "set_time");
}

TEST(PlanProblems, DatesThatAreNoneAreRefused) {
  SimulationPlan plan = test::small_plan();
  plan.canopy_date = "../../x";
  EXPECT_EQ(only_problem(plan), "canopy_date");
  plan = test::small_plan();
  plan.commissioning_date = "spring";
  EXPECT_EQ(only_problem(plan), "commissioning_date");
}

TEST(PlanProblems, ANameOfASurveyThatLeavesTheFolderIsRefused) {
  SimulationPlan plan = test::small_plan();
  plan.survey_id = "../elsewhere";
  EXPECT_EQ(only_problem(plan), "survey_id");
}

}  // namespace
}  // namespace evendrip
