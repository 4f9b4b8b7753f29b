// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/system.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "evendrip/simulate/simulate.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

void expect_same_line(const Line& a, const Line& b) {
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i) EXPECT_LT(distance_m(a[i], b[i]), 0.01);
}

TEST(SystemField, IsWhatTheFolderSays) {
  const auto folder = test::fresh_folder() / "field";
  SimulationPlan plan = test::small_plan();
  plan.mixed_directions = true;
  plan.max_pressure_kpa = 150;
  plan.hazen_williams_c = 145;
  simulate_field(plan, folder);
  const Field read = read_field(folder);
  const Field made = system_field(laid_out_field(plan));
  ASSERT_EQ(read.zones.size(), made.zones.size());
  for (std::size_t i = 0; i < made.zones.size(); ++i) {
    const Zone& a = read.zones[i];
    const Zone& b = made.zones[i];
    EXPECT_EQ(a.id, b.id);
    EXPECT_NEAR(area_m2(a.area), area_m2(b.area), 0.1);
    EXPECT_NEAR(a.inlet_pressure_kpa, b.inlet_pressure_kpa, 1e-6);
    EXPECT_EQ(a.lateral.ends, b.lateral.ends);
    EXPECT_NEAR(a.lateral.inside_diameter_mm, b.lateral.inside_diameter_mm, 1e-6);
    EXPECT_NEAR(a.lateral.max_pressure_kpa, 150, 1e-6);
    EXPECT_EQ(a.lateral.hazen_williams_c, 145);
    EXPECT_NEAR(a.emitter.discharge_lph, b.emitter.discharge_lph, 1e-9);
    EXPECT_NEAR(a.emitter.first_offset_m, b.emitter.first_offset_m, 1e-9);
  }
  ASSERT_EQ(read.laterals.size(), made.laterals.size());
  for (std::size_t i = 0; i < made.laterals.size(); ++i) {
    EXPECT_EQ(read.laterals[i].id, made.laterals[i].id);
    EXPECT_EQ(read.laterals[i].zone, made.laterals[i].zone);
    EXPECT_EQ(read.laterals[i].emitters, made.laterals[i].emitters);
    EXPECT_NEAR(read.laterals[i].length_m, made.laterals[i].length_m, 0.01);
    expect_same_line(read.laterals[i].line, made.laterals[i].line);
  }
  ASSERT_EQ(read.manifolds.size(), made.manifolds.size());
  for (std::size_t i = 0; i < made.manifolds.size(); ++i) {
    EXPECT_EQ(read.manifolds[i].supply, made.manifolds[i].supply);
    EXPECT_NEAR(read.manifolds[i].inside_diameter_mm, made.manifolds[i].inside_diameter_mm, 1e-9);
    expect_same_line(read.manifolds[i].line, made.manifolds[i].line);
  }
  ASSERT_EQ(read.ports.size(), made.ports.size());
  for (std::size_t i = 0; i < made.ports.size(); ++i) {
    EXPECT_EQ(read.ports[i].id, made.ports[i].id);
    EXPECT_EQ(read.ports[i].kind, made.ports[i].kind);
    EXPECT_EQ(read.ports[i].zones, made.ports[i].zones);
    EXPECT_LT(distance_m(read.ports[i].place, made.ports[i].place), 0.01);
  }
}

TEST(LaidOutField, SectionsOfAManifoldMeet) {
  SimulationPlan plan = test::small_plan();
  plan.manifold_diameters_m = {0.09, 0.075, 0.05};
  const SimulatedField field = laid_out_field(plan);
  ASSERT_EQ(field.manifolds.size(), 7U);
  EXPECT_EQ(field.manifolds[0].from_across_m, field.zones[0].across_min_m);
  EXPECT_NEAR(field.manifolds[0].to_across_m, field.manifolds[1].from_across_m, 1e-12);
  EXPECT_NEAR(field.manifolds[1].to_across_m, field.manifolds[2].from_across_m, 1e-12);
  EXPECT_EQ(field.manifolds[2].to_across_m, field.zones[0].across_max_m);
  EXPECT_EQ(field.manifolds[2].inside_diameter_m, 0.05);
}

TEST(LaidOutField, AFaultyClosedLineHasAPortAtItsEnd) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {test::obstruction("pinch", "Z1", 3, 4, 20, 0.9)};
  const SimulatedField field = laid_out_field(plan);
  EXPECT_TRUE(std::any_of(field.ports.begin(), field.ports.end(),
                          [](const SimulatedPort& p) { return p.id == "Z1-03-end"; }));
  EXPECT_TRUE(field.laterals[3].obstructed);
  EXPECT_FALSE(field.laterals[4].obstructed);
}

}  // namespace
}  // namespace evendrip
