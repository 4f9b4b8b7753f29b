// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/simulate.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <thread>

#include "evendrip/field/field.hpp"
#include "evendrip/simulate/truth.hpp"
#include "evendrip/survey/survey.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

std::string told(const Doubts& doubts) {
  std::string text;
  for (const Doubt& doubt : doubts) text += to_text(doubt) + "\n";
  return text;
}

TEST(SimulateField, TheSameSeedGivesTheSameBytes) {
  const auto folder = test::fresh_folder();
  simulate_field(test::small_plan(), folder / "a");
  simulate_field(test::small_plan(), folder / "b");
  const auto a = test::files_of(folder / "a");
  EXPECT_EQ(a.size(), 15U) << "three texts, five layers, two rasters, four tables, the truth";
  EXPECT_EQ(a, test::files_of(folder / "b"));
}

TEST(SimulateField, FeetLayersInAGeoPackageAreTheSameBytesToo) {
  SimulationPlan plan = test::small_plan();
  plan.lonlat_centre = {-99.4, 31.4};
  plan.layers_crs = plan.crs = "EPSG:2277";
  plan.us_units = true;
  const auto folder = test::fresh_folder();
  simulate_field(plan, folder / "a");
  simulate_field(plan, folder / "b");
  const auto a = test::files_of(folder / "a");
  EXPECT_TRUE(a.contains("system.gpkg"));
  EXPECT_EQ(a, test::files_of(folder / "b"));
}

TEST(SimulateField, AnotherSeedGivesOtherMeasurements) {
  const auto folder = test::fresh_folder();
  SimulationPlan plan = test::small_plan();
  simulate_field(plan, folder / "a");
  plan.seed = 100;
  simulate_field(plan, folder / "b");
  auto a = test::files_of(folder / "a");
  auto b = test::files_of(folder / "b");
  for (const char* name : {"truth/emitters.csv", "survey/2026-spring/catch_cans.csv",
                           "survey/2026-spring/pressures.csv", "survey/2026-spring/meter.csv",
                           "crop/2025_biomass.tif", "crop/2025_yield.csv"}) {
    EXPECT_NE(a.at(name), b.at(name)) << name;
  }
  EXPECT_EQ(a.at("laterals.geojson"), b.at("laterals.geojson"));
}

TEST(SimulateField, FieldsMadeAtTheSameTimeDoNotDisturbEachOther) {
  const auto folder = test::fresh_folder();
  simulate_field(test::small_plan(), folder / "alone");
  {
    const std::jthread one([&] { simulate_field(test::small_plan(), folder / "one"); });
    const std::jthread two([&] { simulate_field(test::small_plan(), folder / "two"); });
  }
  const auto alone = test::files_of(folder / "alone");
  EXPECT_EQ(alone, test::files_of(folder / "one"));
  EXPECT_EQ(alone, test::files_of(folder / "two"));
}

TEST(SimulateField, AFolderThatHoldsAnythingIsRefusedAndKept) {
  const auto folder = test::fresh_folder();
  test::put(folder / "notes.txt", "mine");
  try {
    simulate_field(test::small_plan(), folder);
    FAIL() << "no error";
  } catch (const FileError& error) {
    EXPECT_EQ(error.problems().front().code, "folder_not_empty");
    EXPECT_EQ(error.exit_code(), ExitCode::file);
  }
  EXPECT_EQ(test::files_of(folder), (std::map<std::string, std::string>{{"notes.txt", "mine"}}));
}

TEST(SimulateField, AnEmptyFolderIsFilled) {
  const auto folder = test::fresh_folder();
  simulate_field(test::small_plan(), folder);
  EXPECT_TRUE(std::filesystem::exists(folder / "field.toml"));
}

TEST(SimulateField, APlanThatFailsLeavesNothingBehind) {
  const auto folder = test::fresh_folder();
  SimulationPlan plan = test::small_plan();
  plan.layers_crs = "EPSG:999999";
  EXPECT_THROW(simulate_field(plan, folder / "new"), InputError);
  EXPECT_TRUE(std::filesystem::is_empty(folder));
}

TEST(SimulateField, ThePlanInTheFolderMakesTheFolderAgain) {
  const auto folder = test::fresh_folder();
  simulate_field(test::small_plan(), folder / "a");
  simulate_field(read_plan(folder / "a" / "plan.toml"), folder / "b");
  EXPECT_EQ(test::files_of(folder / "a"), test::files_of(folder / "b"));
}

TEST(SimulateField, TheFieldIsReadBackAsItWasMade) {
  const auto folder = test::fresh_folder() / "field";
  SimulationPlan plan = test::small_plan();
  plan.mixed_directions = true;
  simulate_field(plan, folder);
  const Field field = read_field(folder);
  EXPECT_FALSE(has_problem(field.doubts)) << told(field.doubts);
  const SimulatedField truth = simulated_truth(plan);
  ASSERT_EQ(field.laterals.size(), truth.laterals.size());
  for (std::size_t l = 0; l < field.laterals.size(); ++l) {
    EXPECT_EQ(field.laterals[l].id, truth.laterals[l].id);
    EXPECT_EQ(field.laterals[l].emitters, static_cast<int>(truth.laterals[l].emitters.size()));
    EXPECT_NEAR(field.laterals[l].length_m, plan.lateral_length_m, 0.01);
    const SimulatedEmitter& emitter = truth.laterals[l].emitters[10];
    const Point there = place_on_lateral(field, static_cast<int>(l), emitter.station_m);
    const Point expected =
        truth.frame.to_grid(truth.along_of(emitter.station_m), truth.laterals[l].across_m);
    EXPECT_LT(distance_m(there, expected), 0.01) << "stations count from the supply end";
  }
  ASSERT_EQ(field.zones.size(), 2U);
  EXPECT_EQ(field.zones[0].lateral.ends, LateralEnds::closed);
  EXPECT_EQ(field.zones[1].lateral.ends, LateralEnds::flush_manifold);
  EXPECT_EQ(field.crops.size(), 2U);
}

TEST(SimulateField, TheSurveyIsPlacedOnTheEmittersThatWereDug) {
  const auto folder = test::fresh_folder() / "field";
  const SimulationPlan plan = test::small_plan();
  simulate_field(plan, folder);
  const Field field = read_field(folder);
  const Survey survey = read_survey(field, "");
  EXPECT_FALSE(has_problem(survey.doubts)) << told(survey.doubts);
  const SimulatedField truth = simulated_truth(plan);
  int compared = 0;
  for (const MeasuredEmitter& measured : survey.emitters) {
    if (!measured.usable() || measured.site.lateral < 0) continue;
    const auto& emitters = truth.laterals[static_cast<std::size_t>(measured.site.lateral)].emitters;
    const auto nearest =
        static_cast<std::size_t>(std::lround((measured.site.station_m - 0.25) / 0.5));
    EXPECT_NEAR(measured.discharge_lph, emitters.at(nearest).discharge_lph, 0.06);
    ++compared;
  }
  EXPECT_GT(compared, 30);
  ASSERT_EQ(survey.meter.size(), 2U);
  EXPECT_NEAR(survey.meter[0].flow_lph / truth.zones[0].inflow_lph, 1, 0.08);
}

}  // namespace
}  // namespace evendrip
