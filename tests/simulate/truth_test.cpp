// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/truth.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

#include "evendrip/field/field.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

TEST(Truth, EveryEmitterObeysTheDischargeEquation) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {{"Z1", 2, 4, 20, 0.6, "pinch", 5}, {"Z2", 3, 6, 30, 0.5, "clogging", 10}};
  const double k = plan.discharge_lph / std::pow(plan.rated_pressure_kpa, plan.exponent);
  for (const SimulatedLateral& lateral : simulated_truth(plan).laterals) {
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      const double expected =
          emitter.performance * k * std::pow(emitter.pressure_kpa, plan.exponent);
      ASSERT_NEAR(emitter.discharge_lph, expected, 1e-12);
      ASSERT_GE(emitter.performance, 0);
      ASSERT_GT(emitter.pressure_kpa, 0);
    }
  }
}

TEST(Truth, WithoutChanceOrLossEveryEmitterPassesTheRatedDischarge) {
  for (const SimulatedLateral& lateral : simulated_truth(test::even_plan()).laterals) {
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      ASSERT_NEAR(emitter.discharge_lph, 1.0, 1e-12);
      ASSERT_NEAR(emitter.delivery, 1.0, 1e-12);
    }
  }
}

TEST(Truth, TheFarEndLosesTheStatedShareAndMostOfItEarly) {
  SimulationPlan plan = test::even_plan();
  plan.far_end_fall = 0.1;
  plan.emitter_spacing_m = 0.1;
  const SimulatedField field = simulated_truth(plan);
  const auto& emitters = field.laterals.front().emitters;
  EXPECT_NEAR(emitters.front().discharge_lph, 1.0, 1e-3);
  EXPECT_NEAR(emitters.back().discharge_lph, 0.9, 1e-4);
  for (std::size_t i = 1; i < emitters.size(); ++i) {
    ASSERT_LE(emitters[i].discharge_lph, emitters[i - 1].discharge_lph);
  }
  // Friction falls with the flow that is left: half way, well over half of the loss has happened.
  EXPECT_LT(emitters[emitters.size() / 2].discharge_lph, 0.93);
}

TEST(Truth, APinchStarvesButDoesNotClog) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {{"Z1", 3, 4, 20, 0.6, "pinch", 0}};
  const SimulatedField field = simulated_truth(plan);
  for (const SimulatedEmitter& emitter : field.laterals[2].emitters) {
    ASSERT_NEAR(emitter.performance, 1, 1e-12);
    ASSERT_NEAR(emitter.delivery, emitter.station_m > 20 ? 0.6 : 1.0, 1e-12);
  }
  EXPECT_TRUE(field.laterals[2].pinched);
  EXPECT_FALSE(field.laterals[4].pinched);
  EXPECT_LT(field.laterals[2].far_pressure_kpa, field.laterals[2].clean_far_pressure_kpa);
}

TEST(Truth, CloggingLeavesThePressureAndHasTheStatedMean) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {{"Z2", 1, 8, 0, 0.6, "clogging", 0}};
  const SimulatedField field = simulated_truth(plan);
  double sum = 0;
  int n = 0;
  for (const SimulatedLateral& lateral : field.laterals) {
    if (lateral.zone != 1) continue;
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      ASSERT_NEAR(emitter.pressure_kpa, plan.inlet_pressure_kpa, 1e-9);
      ASSERT_NEAR(emitter.performance, emitter.delivery, 1e-12);
      sum += emitter.performance;
      ++n;
    }
  }
  // Each differs by (1 - 0.6)/3; the mean of 960 within four standard errors.
  EXPECT_NEAR(sum / n, 0.6, 4 * (0.4 / 3) / std::sqrt(n));
}

TEST(Truth, AFaultChangesNothingElsewhere) {
  const SimulationPlan plan = test::small_plan();
  SimulationPlan faulty = plan;
  faulty.faults = {{"Z2", 3, 5, 30, 0.5, "clogging", 0}};
  const SimulatedField a = simulated_truth(plan);
  const SimulatedField b = simulated_truth(faulty);
  int changed = 0;
  for (std::size_t l = 0; l < a.laterals.size(); ++l) {
    for (std::size_t i = 0; i < a.laterals[l].emitters.size(); ++i) {
      const bool inside = a.laterals[l].zone == 1 && a.laterals[l].number >= 3 &&
                          a.laterals[l].number <= 5 && a.laterals[l].emitters[i].station_m > 30;
      const bool same =
          a.laterals[l].emitters[i].discharge_lph == b.laterals[l].emitters[i].discharge_lph;
      ASSERT_TRUE(inside || same) << a.laterals[l].id << " emitter " << i + 1;
      if (inside && !same) ++changed;
    }
  }
  EXPECT_GT(changed, 100);
}

TEST(Truth, ManufactureAndPluggingHaveTheStatedSizes) {
  SimulationPlan plan = test::even_plan();
  plan.laterals_per_zone = 30;
  plan.manufacturing_cv = 0.05;
  plan.plugged_share = 0.1;
  double sum = 0, squares = 0;
  int runs = 0, plugged = 0;
  for (const SimulatedLateral& lateral : simulated_truth(plan).laterals) {
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      if (emitter.discharge_lph == 0) {
        ++plugged;
        continue;
      }
      ++runs;
      sum += emitter.discharge_lph;
      squares += emitter.discharge_lph * emitter.discharge_lph;
    }
  }
  const int all = runs + plugged;
  ASSERT_EQ(all, 60 * 120);
  EXPECT_NEAR(1.0 * plugged / all, 0.1, 4 * std::sqrt(0.1 * 0.9 / all));
  const double mean = sum / runs;
  EXPECT_NEAR(std::sqrt(squares / runs - mean * mean) / mean, 0.05,
              4 * 0.05 / std::sqrt(2.0 * runs));
}

TEST(Truth, StationsAreThoseOfTheFieldModel) {
  const SimulatedField field = simulated_truth(test::small_plan());
  EmitterSpec spec;
  spec.spacing_m = 0.5;
  spec.first_offset_m = 0.25;
  const auto& emitters = field.laterals.front().emitters;
  EXPECT_EQ(emitters.size(), 120U);
  for (std::size_t i = 0; i < emitters.size(); ++i) {
    ASSERT_NEAR(emitters[i].station_m, emitter_station_m(spec, static_cast<int>(i) + 1), 1e-9);
  }
}

TEST(Truth, WaterIsOneInAnEvenFieldAndNegativeOutside) {
  const SimulatedField field = simulated_truth(test::even_plan());
  const SimulatedZone& zone = field.zones.front();
  EXPECT_NEAR(field.water_at(0, zone.across_min_m + 3), 1, 1e-12);
  EXPECT_NEAR(field.water_at(-29.9, zone.across_max_m - 0.01), 1, 1e-12);
  EXPECT_LT(field.water_at(0, zone.across_min_m - 0.1), 0);
  EXPECT_LT(field.water_at(31, zone.across_min_m + 3), 0);
  EXPECT_LT(field.water_at(0, zone.across_max_m + 2), 0) << "between the zones";
}

TEST(Truth, WaterFallsWithinTheFaultAlone) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {{"Z1", 1, 8, 30, 0.5, "pinch", 0}};
  const SimulatedField field = simulated_truth(plan);
  const double across = field.zones.front().across_min_m + 6;
  EXPECT_NEAR(field.water_at(field.along_of(10), across), 1, 1e-9);
  EXPECT_NEAR(field.water_at(field.along_of(50), across), 0.5, 1e-9);
  const double at_edge = field.water_at(field.along_of(30), across);
  EXPECT_NEAR(at_edge, 0.75, 0.03);
}

TEST(Truth, TheLocalFrameKeepsGroundLengths) {
  const SimulatedField field = simulated_truth(test::small_plan());
  const Point a = field.frame.to_grid(-30, 4);
  const Point b = field.frame.to_grid(30, 4);
  EXPECT_NEAR(ground_length_m(field.frame.crs, {a, b}), 60, 1e-3);
  const Point back = field.frame.from_grid(a);
  EXPECT_NEAR(back.x, -30, 1e-6);
  EXPECT_NEAR(back.y, 4, 1e-6);
}

TEST(Truth, APlanThatCannotBeMadeIsRefused) {
  SimulationPlan plan = test::small_plan();
  plan.lateral_length_m = -5;
  plan.exponent = 7;
  try {
    simulated_truth(plan);
    FAIL() << "no error";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().size(), 3U);  // the length also leaves no room for the pits
    EXPECT_EQ(error.problems().front().place.column, "lateral_length");
  }
}

}  // namespace
}  // namespace evendrip
