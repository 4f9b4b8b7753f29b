// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/plan.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "plans.hpp"

namespace evendrip {
namespace {

Doubts problems_of_text(const std::string& text) {
  try {
    read_plan(test::put(test::fresh_folder() / "plan.toml", text));
  } catch (const InputError& error) {
    return error.problems();
  }
  return {};
}

const Doubt* about(const Doubts& problems, const std::string& key) {
  const auto found = std::find_if(problems.begin(), problems.end(),
                                  [&](const Doubt& d) { return d.place.column == key; });
  return found == problems.end() ? nullptr : &*found;
}

TEST(Plan, AnEmptyFileIsThePlanOfDefaults) {
  const auto file = test::put(test::fresh_folder() / "plan.toml", "# nothing asked for\n");
  EXPECT_EQ(read_plan(file), SimulationPlan{});
}

TEST(Plan, WrittenAndReadAgainIsTheSamePlan) {
  SimulationPlan plan = test::small_plan();
  plan.name = "Say \"reeds\" \\ twice";
  plan.about = "Two lines\nof text.";
  plan.lateral_length_m = 146.304;
  plan.discharge_lph = 0.984207062;
  plan.rated_pressure_kpa = 82.7370875;
  plan.us_units = true;
  plan.gps_only_share = 1.0 / 3;
  plan.manifold_diameters_m = {0.0762, 0.0525, 0.0409};
  plan.commissioning_date = "2017-05-02";
  plan.set_time_s = 21600;
  plan.pulses = 2;
  plan.season_depth_mm = 482.6;
  plan.season_et_mm = 610;
  plan.emitters_per_root_zone = 3;
  plan.faults = {
      test::obstruction("pinch", "Z1", 2, 3, 20.5, 0.97), test::clogging("Z2", 5, 8, 40, 0.45, 12),
      test::obstruction("shut", "Z2", 1, 1, 5, 0), test::on_manifold("cut", "Z1", 7.5, 0.02)};
  plan.soil_patches = {{"Z2", 4, 30, 7.5, 0.7}};
  const auto file = test::put(test::fresh_folder() / "plan.toml", plan_as_toml(plan));
  EXPECT_EQ(read_plan(file), plan);
}

TEST(Plan, QuantitiesMayStandInOtherUnits) {
  const auto file = test::put(test::fresh_folder() / "plan.toml",
                              "lateral_length = \"500 ft\"\nemitter_spacing = \"18 in\"\n"
                              "inlet_pressure = \"15 psi\"\ndischarge = \"0.25 gph\"\n");
  const SimulationPlan plan = read_plan(file);
  // Exact definitions: foot 0.3048 m, gallon 3.785411784 L; psi 6.894757 kPa (NIST SP 811, B.8).
  EXPECT_NEAR(plan.lateral_length_m, 152.4, 1e-9);
  EXPECT_NEAR(plan.emitter_spacing_m, 0.4572, 1e-9);
  EXPECT_NEAR(plan.inlet_pressure_kpa, 15 * 6.894757, 1e-4);
  EXPECT_NEAR(plan.discharge_lph, 0.25 * 3.785411784, 1e-9);
}

TEST(Plan, AZoneThatIsNotThereIsNamedWithItsLine) {
  const Doubts problems = problems_of_text(
      "zones = 2\n\n[[fault]]\nzone = \"Z1\"\n\n[[fault]]\nfactor = 0.5\nzone = \"Z7\"\n");
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].place.row, 8U);
  EXPECT_EQ(problems[0].place.column, "zone");
  EXPECT_EQ(problems[0].found, "Z7");
  EXPECT_NE(problems[0].expected.find("Z2"), std::string::npos);
}

TEST(Plan, EveryProblemIsToldAndNotTheFirstAlone) {
  const Doubts problems = problems_of_text(
      "zones = 0\nlateral_length = \"2 m\"\nplugged_share = 1.5\nlateral_spacing_m = 90\n");
  ASSERT_NE(about(problems, "zones"), nullptr);
  EXPECT_EQ(about(problems, "zones")->place.row, 1U);
  ASSERT_NE(about(problems, "lateral_length"), nullptr);
  EXPECT_EQ(about(problems, "lateral_length")->place.row, 2U);
  ASSERT_NE(about(problems, "plugged_share"), nullptr);
  EXPECT_EQ(about(problems, "plugged_share")->place.row, 3U);
  ASSERT_NE(about(problems, "lateral_spacing_m"), nullptr);
  EXPECT_EQ(about(problems, "lateral_spacing_m")->place.row, 4U);
}

TEST(Plan, AnUnknownKeyIsAProblem) {
  const Doubts problems = problems_of_text("zones = 2\nlateral_lenght = \"80 m\"\n");
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].place.row, 2U);
}

TEST(Plan, ANegativeCountIsRefused) {
  const Doubts problems = problems_of_text("seed = 4\nlaterals_dug = -3\n");
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].place.row, 2U);
  EXPECT_EQ(problems[0].found, "-3");
}

TEST(Plan, ADateThatIsNoneIsRefused) {
  EXPECT_FALSE(problems_of_text("survey_date = \"soon\"\n").empty());
  EXPECT_FALSE(problems_of_text("commissioning_date = \"2017-13-01\"\n").empty());
}

TEST(Plan, AManifoldHasOneDiameterOrOneForEachSection) {
  const auto folder = test::fresh_folder();
  const auto one = test::put(folder / "one.toml", "manifold_diameter = \"63 mm\"\n");
  EXPECT_EQ(read_plan(one).manifold_diameters_m, std::vector<double>{0.063});
  const auto two = test::put(folder / "two.toml", "manifold_diameter = [\"3 in\", \"2 in\"]\n");
  const auto diameters = read_plan(two).manifold_diameters_m;
  ASSERT_EQ(diameters.size(), 2U);
  EXPECT_NEAR(diameters[0], 3 * 0.0254, 1e-12);
  EXPECT_NEAR(diameters[1], 2 * 0.0254, 1e-12);
}

TEST(Plan, WhatIsNotSaidOfWateringIsNotWritten) {
  const std::string text = plan_as_toml(test::small_plan());
  for (const char* key : {"set_time", "pulses", "season_", "emitters_per_root_zone"}) {
    EXPECT_EQ(text.find(key), std::string::npos) << key;
  }
}

TEST(Plan, AKeyOfAnotherKindOfFaultIsUnknown) {
  const std::string pinch = "[[fault]]\nkind = \"pinch\"\nzone = \"Z1\"\n";
  EXPECT_TRUE(problems_of_text(pinch + "severity = 0.9\n").empty());
  const Doubts problems = problems_of_text(pinch + "factor = 0.5\n");
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "unknown_key");
  EXPECT_EQ(problems[0].place.row, 4U);
}

}  // namespace
}  // namespace evendrip
