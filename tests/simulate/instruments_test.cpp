// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/instruments.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "evendrip/simulate/system.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

using test::rows_of;

TEST(Instruments, TheMeterReadsBuriedEmittersAndLeaksWithinItsAccuracy) {
  SimulationPlan plan = test::small_plan();
  plan.in_soil_ratio = 0.8;
  plan.faults = {test::obstruction("cut", "Z2", 3, 3, 25, 0.05)};
  const SimulatedField field = simulated_truth(plan);
  const auto rows = rows_of(meter_table(field));
  ASSERT_EQ(rows.size(), 3U);
  for (int zone = 0; zone < 2; ++zone) {
    const double m3_h = std::stod(rows[static_cast<std::size_t>(zone) + 1][2]);
    const double expected_lph =
        0.8 * field.zone_discharge_lph(zone) + field.zones[static_cast<std::size_t>(zone)].leak_lph;
    EXPECT_NEAR(m3_h * 1000 / expected_lph, 1, 4 * 0.02);
  }
}

TEST(Instruments, ReadingsInGallonsGiveTheSameFlow) {
  SimulationPlan plan = test::small_plan();
  plan.meter_accuracy_frac = 0;
  plan.us_units = true;
  const SimulatedField field = simulated_truth(plan);
  const auto rows = rows_of(meter_table(field));
  const double gallons = std::stod(rows[1][3]) - std::stod(rows[1][2]);
  const double minutes = std::stod(rows[1][5]);
  // Half a gallon of rounding in 200 gallons.
  EXPECT_NEAR(gallons * 3.785411784 * 60 / minutes / field.zones[0].inflow_lph, 1, 0.006);
}

TEST(Instruments, GaugesReadThePressureAtTheirOwnHeight) {
  SimulationPlan plan = test::small_plan();
  plan.gauge_accuracy_kpa = 0;
  const SimulatedField field = simulated_truth(plan);
  const auto rows = rows_of(pressure_table(field));
  int compared = 0;
  for (const SimulatedPort& port : field.ports) {
    for (std::size_t run = 0; run < port.zones.size(); ++run) {
      const std::string& zone = field.zones[static_cast<std::size_t>(port.zones[run])].id;
      for (const auto& row : rows) {
        if (row[0] != port.id || row[4] != zone) continue;
        const double expected = port.pressure_kpa[run] - 9.80665 * port.gauge_height_m;
        EXPECT_NEAR(std::stod(row[1]), expected, 0.051) << port.id;
        ++compared;
      }
    }
  }
  EXPECT_EQ(compared, static_cast<int>(rows.size()) - 1) << "every row is of one port and zone";
  EXPECT_EQ(compared, 2 * 3 + 2 * 2 + 3 + 3)
      << "pump and filter twice, valve and inlet of each zone, three ends, one end and two flush";
}

TEST(Instruments, GaugeErrorsHaveTheStatedSize) {
  SimulationPlan plan = test::small_plan();
  plan.gauge_accuracy_kpa = 2;
  double squares = 0;
  int n = 0;
  for (std::uint64_t seed = 1; seed <= 25; ++seed) {
    plan.seed = seed;
    const SimulatedField field = simulated_truth(plan);
    const auto record = commissioning_record(field);
    for (const CommissioningPressure& reading : record.pressures) {
      const SimulatedPort& port = field.ports[static_cast<std::size_t>(reading.port)];
      const std::size_t run =
          port.zones.size() > 1 ? static_cast<std::size_t>(reading.zones[0]) : 0;
      const double error =
          reading.pressure_kpa - port.clean_pressure_kpa[run] + 9.80665 * port.gauge_height_m;
      squares += error * error;
      ++n;
    }
  }
  ASSERT_EQ(n, 25 * 16);
  EXPECT_NEAR(std::sqrt(squares / n), 2, 4 * 2 / std::sqrt(2.0 * n));
}

TEST(Instruments, TheRecordOfTheNewSystemIsReadBack) {
  SimulationPlan plan = test::small_plan();
  plan.commissioning_date = "2017-05-02";
  plan.faults = {test::obstruction("pinch", "Z1", 1, 8, 20, 0.995)};
  const SimulatedField field = simulated_truth(plan);
  const Commissioning record = commissioning_record(field);
  EXPECT_EQ(record.date, "2017-05-02");
  ASSERT_EQ(record.flows.size(), 2U);
  EXPECT_NEAR(record.flows[0].flow_lph / field.zones[0].clean_inflow_lph, 1, 4 * 0.02);
  EXPECT_GT(record.flows[0].flow_lph, 1.2 * field.zones[0].inflow_lph) << "pinched since";
  Field system = system_field(field);
  system.folder = test::fresh_folder();
  test::put(system.folder / commissioning_file, commissioning_table(system, record));
  Doubts doubts;
  const auto read = read_commissioning(system, doubts);
  EXPECT_TRUE(doubts.empty());
  ASSERT_TRUE(read.has_value());
  ASSERT_EQ(read->pressures.size(), record.pressures.size());
  for (std::size_t i = 0; i < record.pressures.size(); ++i) {
    EXPECT_EQ(read->pressures[i].port, record.pressures[i].port);
    EXPECT_EQ(read->pressures[i].zones, record.pressures[i].zones);
    EXPECT_NEAR(read->pressures[i].pressure_kpa, record.pressures[i].pressure_kpa, 1e-9);
  }
  EXPECT_NEAR(read->flows[1].flow_lph, record.flows[1].flow_lph, 1e-6);
}

}  // namespace
}  // namespace evendrip
