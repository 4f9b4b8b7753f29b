// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/digging.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <sstream>

#include "plans.hpp"

namespace evendrip {
namespace {

std::vector<std::vector<std::string>> rows_of(const std::string& table) {
  std::vector<std::vector<std::string>> rows;
  std::istringstream lines(table);
  for (std::string line; std::getline(lines, line);) {
    std::vector<std::string> cells(1);
    for (const char c : line) {
      if (c == ',') {
        cells.emplace_back();
      } else {
        cells.back() += c;
      }
    }
    rows.push_back(cells);
  }
  return rows;
}

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

TEST(Digging, TheMeterReadsTheSumOfTheEmittersWithinItsAccuracy) {
  const SimulatedField field = simulated_truth(test::small_plan());
  const auto rows = rows_of(meter_table(field));
  ASSERT_EQ(rows.size(), 3U);
  for (int zone = 0; zone < 2; ++zone) {
    const double m3_h = std::stod(rows[static_cast<std::size_t>(zone) + 1][2]);
    EXPECT_NEAR(m3_h * 1000 / field.zone_discharge_lph(zone), 1, 4 * 0.02);
  }
}

TEST(Digging, ReadingsInGallonsGiveTheSameFlow) {
  SimulationPlan plan = test::small_plan();
  plan.us_units = true;
  const SimulatedField field = simulated_truth(plan);
  const auto rows = rows_of(meter_table(field));
  const double gallons = std::stod(rows[1][3]) - std::stod(rows[1][2]);
  const double minutes = std::stod(rows[1][5]);
  EXPECT_NEAR(gallons * 3.785411784 * 60 / minutes / field.zone_discharge_lph(0), 1, 4 * 0.02);
}

TEST(Digging, GaugesReadThePressureAtTheirOwnHeight) {
  SimulationPlan plan = test::even_plan();
  plan.gauge_accuracy_kpa = 0;
  const SimulatedField field = simulated_truth(plan);
  const auto ports = simulated_ports(field);
  const auto rows = rows_of(pressure_table(field, ports));
  int ends = 0;
  for (std::size_t i = 0; i < ports.size(); ++i) {
    const double expected = ports[i].pressure_kpa - 9.80665 * ports[i].gauge_height_m;
    ASSERT_NEAR(std::stod(rows[i + 1][1]), expected, 0.051);
    if (ports[i].kind != "lateral_end") continue;
    ++ends;
    ASSERT_NEAR(ports[i].pressure_kpa, plan.inlet_pressure_kpa, 1e-9);
  }
  EXPECT_EQ(ends, 6);
}

TEST(Digging, APinchedLateralHasAPortAtItsStarvedEnd) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {{"Z1", 3, 4, 20, 0.5, "pinch", 0}};
  const auto ports = simulated_ports(simulated_truth(plan));
  const auto port = std::find_if(ports.begin(), ports.end(),
                                 [](const SimulatedPort& p) { return p.id == "Z1-03-end"; });
  ASSERT_NE(port, ports.end());
  // Half the discharge of an emitter with exponent 0.5 is a quarter of the pressure.
  EXPECT_NEAR(port->pressure_kpa, plan.inlet_pressure_kpa / 4, 1e-9);
}

}  // namespace
}  // namespace evendrip
