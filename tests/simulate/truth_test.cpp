// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/truth.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "evendrip/field/field.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

TEST(Truth, EveryEmitterObeysTheDischargeEquation) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {test::obstruction("pinch", "Z1", 2, 4, 20, 0.98),
                 test::obstruction("shut", "Z2", 2, 2, 10, 0),
                 test::clogging("Z2", 3, 6, 30, 0.5, 10)};
  const double k = plan.discharge_lph / std::pow(plan.rated_pressure_kpa, plan.exponent);
  for (const SimulatedLateral& lateral : simulated_truth(plan).laterals) {
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      const double expected =
          emitter.performance * k * std::pow(emitter.pressure_kpa, plan.exponent);
      ASSERT_NEAR(emitter.discharge_lph, expected, 1e-9);
      ASSERT_GE(emitter.performance, 0);
      ASSERT_GT(emitter.pressure_kpa, 0);
    }
  }
}

TEST(Truth, WithoutChanceOrLossEveryEmitterPassesTheRatedDischarge) {
  for (const SimulatedLateral& lateral : simulated_truth(test::even_plan()).laterals) {
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      ASSERT_NEAR(emitter.discharge_lph, 1.0, 1e-3);
      ASSERT_NEAR(emitter.delivery, 1.0, 1e-12);
    }
  }
}

TEST(Truth, MeanDeliveryOfACleanZoneIsOne) {
  SimulationPlan plan = test::small_plan();
  plan.plugged_share = 0;
  plan.laterals_per_zone = 30;
  const SimulatedField field = simulated_truth(plan);
  for (int zone = 0; zone < 2; ++zone) {
    double sum = 0;
    int n = 0;
    for (const SimulatedLateral& lateral : field.laterals) {
      if (lateral.zone != zone) continue;
      for (const SimulatedEmitter& emitter : lateral.emitters) sum += emitter.delivery, ++n;
    }
    ASSERT_EQ(n, 30 * 120);
    // Four standard errors of the mean of the manufacture.
    EXPECT_NEAR(sum / n, 1, 4 * plan.manufacturing_cv / std::sqrt(n));
  }
}

/// Pressure lost at a pinch that takes all but `open` of the bore's area, kPa, by Borda and Carnot
/// with Weisbach's contraction to 0.62 + 0.38 open^3 of the opening; `flow_lph` through `bore_m`.
double pinch_loss_kpa(double open, double flow_lph, double bore_m) {
  const double velocity = flow_lph / 3.6e6 / (std::numbers::pi * bore_m * bore_m / 4);
  const double jet = open * (0.62 + 0.38 * open * open * open);
  const double k = (1 / jet - 1) * (1 / jet - 1);
  return k * velocity * velocity / 2;  // density 1000 kg/m3: v^2/2 in kPa
}

TEST(Truth, APinchStarvesAClosedLineBeyondItAndDoesNotClog) {
  SimulationPlan plan = test::even_plan();
  const double severity = 0.99921;
  plan.faults = {test::obstruction("pinch", "Z1", 3, 4, 20, severity)};
  const SimulatedField field = simulated_truth(plan);
  // 80 emitters beyond: the pressure h there solves h + loss(80 w k sqrt(h)) = 100 kPa.
  double h = 50;
  for (int i = 0; i < 200; ++i) {
    const double flow_lph = 80 * plan.in_soil_ratio * std::sqrt(h / 100);
    h += 0.2 * (100 - h - pinch_loss_kpa(1 - severity, flow_lph, 0.04));
  }
  ASSERT_LT(h, 40);
  for (const SimulatedEmitter& emitter : field.laterals[2].emitters) {
    ASSERT_NEAR(emitter.performance, 1, 1e-12);
    ASSERT_NEAR(emitter.delivery, emitter.station_m > 20 ? std::sqrt(h / 100) : 1.0, 2e-3);
  }
  EXPECT_TRUE(field.laterals[2].obstructed);
  EXPECT_FALSE(field.laterals[4].obstructed);
}

TEST(Truth, APinchHardlyShowsWhereAFlushManifoldFeedsTheFarEnd) {
  SimulationPlan plan = test::small_plan();
  plan.manufacturing_cv = 0;
  plan.plugged_share = 0;
  plan.faults = {test::obstruction("pinch", "Z1", 4, 4, 20, 0.992),
                 test::obstruction("pinch", "Z2", 4, 4, 20, 0.992)};
  const SimulatedField field = simulated_truth(plan);
  const auto& closed = field.laterals[3].emitters;
  const auto& joined = field.laterals[8 + 3].emitters;
  for (std::size_t i = 0; i < closed.size(); ++i) {
    if (closed[i].station_m < 21) continue;
    ASSERT_LT(closed[i].delivery, 0.75);
    ASSERT_GT(joined[i].delivery, 0.97);
  }
}

TEST(Truth, CloggingHardlyTouchesThePressureAndHasTheStatedMean) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {test::clogging("Z2", 1, 8, 0, 0.6, 0)};
  const SimulatedField field = simulated_truth(plan);
  double sum = 0;
  int n = 0;
  for (const SimulatedLateral& lateral : field.laterals) {
    if (lateral.zone != 1) continue;
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      ASSERT_NEAR(emitter.pressure_kpa, plan.inlet_pressure_kpa, 0.05);
      ASSERT_NEAR(emitter.performance, emitter.delivery, 1e-3);
      sum += emitter.performance;
      ++n;
    }
  }
  // Each differs by (1 - 0.6)/3; the mean of 960 within four standard errors.
  EXPECT_NEAR(sum / n, 0.6, 4 * (0.4 / 3) / std::sqrt(n));
}

TEST(Truth, AFaultChangesNothingElsewhereButALittlePressure) {
  const SimulationPlan plan = test::small_plan();
  SimulationPlan faulty = plan;
  faulty.faults = {test::clogging("Z2", 3, 5, 30, 0.5, 0)};
  const SimulatedField a = simulated_truth(plan);
  const SimulatedField b = simulated_truth(faulty);
  int changed = 0;
  for (std::size_t l = 0; l < a.laterals.size(); ++l) {
    for (std::size_t i = 0; i < a.laterals[l].emitters.size(); ++i) {
      const SimulatedEmitter& before = a.laterals[l].emitters[i];
      const SimulatedEmitter& after = b.laterals[l].emitters[i];
      const bool inside = a.laterals[l].zone == 1 && a.laterals[l].number >= 3 &&
                          a.laterals[l].number <= 5 && before.station_m > 30;
      const bool same = before.performance == after.performance;
      ASSERT_TRUE(inside || same) << a.laterals[l].id << " emitter " << i + 1;
      if (inside && !same) ++changed;
      if (a.laterals[l].zone == 0) {
        ASSERT_EQ(before.discharge_lph, after.discharge_lph) << "another zone";
      } else {
        ASSERT_GE(after.pressure_kpa, before.pressure_kpa - 1e-9) << "less flow, less loss";
        ASSERT_LT(after.pressure_kpa, before.pressure_kpa + 2);
      }
    }
  }
  EXPECT_GT(changed, 100);
}

TEST(Truth, GroundThatRisesBeyondThePressureIsRefused) {
  SimulationPlan plan = test::even_plan();
  plan.lateral_length_m = 700;
  plan.emitter_spacing_m = 5;
  plan.slope_frac = 0.02;  // 14 m up, 10.2 m of pressure
  try {
    simulated_truth(plan);
    FAIL() << "no error";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().front().code, "no_pressure");
    EXPECT_NE(error.problems().front().found.find("Z1-01"), std::string::npos);
  }
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
  EXPECT_NEAR(field.water_at(0, zone.across_min_m + 3), 1, 1e-3);
  EXPECT_NEAR(field.water_at(-29.9, zone.across_max_m - 0.01), 1, 1e-3);
  EXPECT_LT(field.water_at(0, zone.across_min_m - 0.1), 0);
  EXPECT_LT(field.water_at(31, zone.across_min_m + 3), 0);
  EXPECT_LT(field.water_at(0, zone.across_max_m + 2), 0) << "between the zones";
}

TEST(Truth, WaterFallsWithinTheFaultAlone) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {test::obstruction("pinch", "Z1", 1, 8, 30, 0.99921)};
  const SimulatedField field = simulated_truth(plan);
  const double across = field.zones.front().across_min_m + 6;
  const double starved = field.laterals[3].emitters[100].discharge_lph;
  ASSERT_LT(starved, 0.6);
  EXPECT_NEAR(field.water_at(field.along_of(10), across), 1, 1e-3);
  EXPECT_NEAR(field.water_at(field.along_of(50), across), starved, 1e-3);
  EXPECT_NEAR(field.water_at(field.along_of(30), across), (1 + starved) / 2, 0.03);
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
