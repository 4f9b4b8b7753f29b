// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/running.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "evendrip/hydraulics/friction.hpp"
#include "evendrip/hydraulics/water.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

const SimulatedPort& port(const SimulatedField& field, const std::string& id) {
  const auto found = std::find_if(field.ports.begin(), field.ports.end(),
                                  [&](const SimulatedPort& p) { return p.id == id; });
  if (found == field.ports.end()) throw std::out_of_range(id);
  return *found;
}

/// Of the buried emitters of a zone.
double in_soil_lph(const SimulatedField& field, int zone) {
  return field.zone_discharge_lph(zone) * field.plan.in_soil_ratio;
}

TEST(Running, WhatEntersAZoneLeavesItsBuriedEmittersAndLeaks) {
  SimulationPlan plan = test::small_plan();
  plan.in_soil_ratio = 0.85;
  plan.faults = {test::obstruction("cut", "Z1", 3, 3, 25, 0.05),
                 test::obstruction("pinch", "Z2", 2, 5, 20, 0.98),
                 test::clogging("Z2", 1, 8, 30, 0.6, 10)};
  const SimulatedField field = simulated_truth(plan);
  for (int zone = 0; zone < 2; ++zone) {
    const SimulatedZone& here = field.zones[static_cast<std::size_t>(zone)];
    EXPECT_NEAR(here.inflow_lph / (in_soil_lph(field, zone) + here.leak_lph), 1, 1e-8);
  }
  EXPECT_GT(field.zones[0].leak_lph, 50);
  EXPECT_EQ(field.zones[1].leak_lph, 0);
  EXPECT_LT(field.zones[1].inflow_lph, field.zones[1].clean_inflow_lph);
}

TEST(Running, ACutLeaksByItsAreaAndPressure) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {test::obstruction("cut", "Z1", 4, 4, 30.1, 0.001)};
  const SimulatedField field = simulated_truth(plan);
  const SimulatedEmitter& beside = field.laterals[3].emitters[60];  // station 30.25 m
  const double area_m2 = 0.001 * std::numbers::pi * 0.04 * 0.04 / 4;
  // Torricelli's law with a discharge coefficient of 0.62; head of water of 9.80665 kPa a metre.
  const double expected_lph =
      0.62 * area_m2 * std::sqrt(2 * 9.80665 * beside.pressure_kpa / 9.80665) * 3.6e6;
  EXPECT_NEAR(field.zones[0].leak_lph / expected_lph, 1, 2e-3);
}

TEST(Running, AShutLineGivesNothingBeyondIfItsEndIsClosed) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {test::obstruction("shut", "Z1", 2, 2, 20.1, 0),
                 test::obstruction("shut", "Z2", 2, 2, 20.1, 0)};
  const SimulatedField field = simulated_truth(plan);
  for (const SimulatedEmitter& emitter : field.laterals[1].emitters) {
    ASSERT_EQ(emitter.discharge_lph > 0, emitter.station_m < 20.1 && emitter.performance > 0);
  }
  for (const SimulatedEmitter& emitter : field.laterals[8 + 1].emitters) {
    ASSERT_EQ(emitter.discharge_lph > 0, emitter.performance > 0) << "fed through the far end";
  }
}

TEST(Running, FrictionAlongALateralAgreesWithTheMultipleOutletFactor) {
  SimulationPlan plan = test::even_plan();
  plan.inside_diameter_mm = 20;
  plan.discharge_lph = 4;
  const SimulatedField field = simulated_truth(plan);
  const auto& emitters = field.laterals.front().emitters;
  double flow_lph = 0;
  for (const SimulatedEmitter& emitter : emitters) {
    flow_lph += emitter.discharge_lph * plan.in_soil_ratio;
  }
  Friction friction;
  friction.viscosity_m2_s = kinematic_viscosity_m2_s(plan.water_temperature_c);
  const double whole_kpa = pressure_kpa(head_loss(friction, 60, 0.02, 0, flow_lph / 3.6e6).head_m);
  // Christiansen's idea with the exponent of smooth pipes, 1.75 (Blasius); laminar flow near the
  // far end and the fall of discharge along the line make a few per cent.
  const double expected_kpa = whole_kpa * multiple_outlet_factor(120, 1.75, 0.5);
  const double lost_kpa = emitters.front().pressure_kpa - emitters.back().pressure_kpa;
  ASSERT_GT(lost_kpa, 1.5);
  EXPECT_NEAR(lost_kpa / expected_kpa, 1, 0.06);
  // Friction falls with the flow that is left: half way, most of the loss has happened.
  EXPECT_LT(emitters[60].pressure_kpa, emitters.front().pressure_kpa - 0.8 * lost_kpa);
}

TEST(Running, TheGroundAddsItsHeightExactly) {
  SimulationPlan plan = test::even_plan();
  plan.slope_frac = -0.01;
  plan.cross_slope_frac = 0.02;
  const SimulatedField field = simulated_truth(plan);
  const SimulatedZone& zone = field.zones.front();
  const double inlet_m = field.ground_m(field.along_of(0), zone.across_min_m);
  for (const SimulatedLateral& lateral : field.laterals) {
    if (lateral.zone != 0) continue;
    for (const SimulatedEmitter& emitter : lateral.emitters) {
      const double here_m = field.ground_m(field.along_of(emitter.station_m), lateral.across_m);
      ASSERT_NEAR(emitter.pressure_kpa, 100 + 9.80665 * (inlet_m - here_m), 0.1);
    }
  }
}

TEST(Running, PortsAboveTheInletStandByTheStatedLosses) {
  SimulationPlan plan = test::even_plan();
  plan.valve_loss_kpa = 10;
  plan.main_loss_kpa = 20;
  plan.filter_loss_kpa = 40;
  plan.check_valve_loss_kpa = 5;
  const SimulatedField field = simulated_truth(plan);
  EXPECT_NEAR(port(field, "Z2-zone_inlet").pressure_kpa.at(0), 100, 1e-6);
  EXPECT_NEAR(port(field, "Z2-valve_in").pressure_kpa.at(0), 110, 1e-6);
  EXPECT_NEAR(port(field, "filter_out").pressure_kpa.at(1), 130, 1e-6);
  EXPECT_NEAR(port(field, "filter_in").pressure_kpa.at(1), 170, 1e-6);
  EXPECT_NEAR(port(field, "pump").pressure_kpa.at(0), 175, 1e-6);
}

TEST(Running, FarEndPortsSeeThePressureOfTheirLine) {
  SimulationPlan plan = test::small_plan();
  plan.faults = {test::obstruction("pinch", "Z1", 3, 4, 20, 0.993)};
  const SimulatedField field = simulated_truth(plan);
  const SimulatedPort& starved = port(field, "Z1-03-end");
  EXPECT_NEAR(starved.pressure_kpa.at(0), field.laterals[2].emitters.back().pressure_kpa, 0.1);
  EXPECT_LT(starved.pressure_kpa.at(0), 0.7 * starved.clean_pressure_kpa.at(0));
  const SimulatedPort& sound = port(field, "Z1-08-end");
  EXPECT_NEAR(sound.pressure_kpa.at(0), sound.clean_pressure_kpa.at(0), 2);
  const SimulatedPort& flush = port(field, "Z2-flush-2");
  EXPECT_NEAR(flush.pressure_kpa.at(0), field.laterals.back().emitters.back().pressure_kpa, 0.5);
}

TEST(Running, APinchedManifoldStarvesTheLinesBeyondIt) {
  SimulationPlan plan = test::small_plan();
  plan.manufacturing_cv = 0;
  plan.plugged_share = 0;
  // Laterals join at 0.75, 2.25, 3.75, 5.25, 6.75, 8.25 ... m; the second section begins at 6 m.
  for (const auto& [from_m, sound] : {std::pair{5.0, 3}, std::pair{8.0, 5}}) {
    plan.faults = {test::on_manifold("pinch", "Z1", from_m, 0.997)};
    const SimulatedField field = simulated_truth(plan);
    for (int number = 1; number <= 8; ++number) {
      const auto& emitters = field.laterals[static_cast<std::size_t>(number - 1)].emitters;
      ASSERT_EQ(emitters.front().delivery > 0.9, number <= sound) << number << " at " << from_m;
    }
  }
}

TEST(Running, ALineShutAtItsInletLivesOnTheFlushManifoldUntilThatIsShutToo) {
  SimulationPlan plan = test::small_plan();
  plan.plugged_share = 0;
  plan.faults = {test::obstruction("shut", "Z2", 1, 1, 0.1, 0)};
  const SimulatedField fed = simulated_truth(plan);
  for (const SimulatedEmitter& emitter : fed.laterals[8].emitters) ASSERT_GT(emitter.delivery, 0.7);
  SimulatedFault flush = test::on_manifold("shut", "Z2", 1.5, 0);
  flush.on = "flush_manifold";
  plan.faults.push_back(flush);
  const SimulatedField dry = simulated_truth(plan);
  for (const SimulatedEmitter& emitter : dry.laterals[8].emitters) ASSERT_EQ(emitter.delivery, 0);
  ASSERT_EQ(port(dry, "Z2-flush-1").pressure_kpa.at(0), 0);
}

TEST(Running, FaultsMaySitAtEitherEndOfTheirLine) {
  SimulationPlan plan = test::small_plan();
  for (const char* kind : {"pinch", "shut", "cut"}) {
    for (const char* zone : {"Z1", "Z2"}) {
      plan.faults = {test::obstruction(kind, zone, 2, 2, 0, 0.5),
                     test::obstruction(kind, zone, 7, 7, plan.lateral_length_m, 0.5),
                     test::on_manifold(kind, zone, 12, 0.5)};
      EXPECT_NO_THROW(simulated_truth(plan)) << kind << " in " << zone;
    }
  }
  plan.faults = {test::on_manifold("shut", "Z1", 0, 0)};
  const SimulatedField field = simulated_truth(plan);
  EXPECT_EQ(field.zones[0].inflow_lph, 0) << "the whole zone is shut";
  EXPECT_EQ(field.zone_discharge_lph(0), 0);
  EXPECT_GT(field.zones[1].inflow_lph, 0);
}

}  // namespace
}  // namespace evendrip
