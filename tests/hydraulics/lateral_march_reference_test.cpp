// SPDX-License-Identifier: Apache-2.0
// Whole laterals, step by step, against tests/reference/laterals.txt: friction and emitters
// together, and the oracle that network solutions are compared with.
#include "lateral_march.hpp"

#include "printed_laterals.hpp"
#include "reference_table.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <vector>

namespace evendrip {
namespace {

test::EvenLine reference_lateral(double slope, FrictionLaw law) {
  test::EvenLine line;
  line.outlets = 200;
  line.spacing_m = 0.5;
  line.first_m = 0.5;
  line.slope = slope;
  line.diameter_m = 0.016;
  line.friction.law = law;
  line.friction.hazen_williams_c = 150;
  if (law == FrictionLaw::hazen_williams) line.friction.multiplier = test::printed_hazen_williams;
  line.friction.viscosity_m2_s = 1.003e-6;
  line.emitter = {0.50596, pressure_kpa(1), 0.5, 0, 0};
  return line;
}

double coefficient_of_variation(const std::vector<double>& values) {
  double mean = 0;
  for (const double value : values) mean += value / static_cast<double>(values.size());
  double squares = 0;
  for (const double value : values) squares += (value - mean) * (value - mean);
  return std::sqrt(squares / static_cast<double>(values.size() - 1)) / mean;
}

TEST(LateralMarchReference, LateralsOnFlatAndSlopingGround) {
  int rows = 0;
  for (const auto& cells : test::reference_table("laterals.txt")) {
    ASSERT_EQ(cells.size(), 11U);
    SCOPED_TRACE(cells[1] + " rising " + cells[0]);
    const auto line =
        test::march_line(reference_lateral(std::stod(cells[0]), test::law_of(cells[1])));
    const test::MarchedLine found = test::march(line, 10);
    EXPECT_NEAR(found.inlet_total_head_m, 10, 1e-12);
    std::vector<double> lph;
    for (const double outflow : found.outflow_m3_s) lph.push_back(outflow * 3.6e6);
    test::expect_printed(found.inflow_m3_s() * 3.6e6, cells[2]);
    test::expect_printed(found.pressure_head_m.back(), cells[3]);
    test::expect_printed(found.pressure_head_m[found.lowest_outlet()], cells[4]);
    EXPECT_EQ(found.lowest_outlet() + 1, std::stoul(cells[5]));
    test::expect_printed(lph[0], cells[6]);
    test::expect_printed(lph[99], cells[7]);
    test::expect_printed(lph[199], cells[8]);
    test::expect_printed(coefficient_of_variation(lph), cells[9]);
    const auto [least, most] = std::minmax_element(lph.begin(), lph.end());
    test::expect_printed(100 * (*most - *least) / *most, cells[10]);
    ++rows;
  }
  EXPECT_EQ(rows, 7);
}

// The closed form of a line with constant outflow; values in friction_reference_test.cpp.
TEST(LateralMarchReference, ConstantOutflowLosesFactorTimesFullLoss) {
  for (const auto& [law, loss_m] : std::map<FrictionLaw, double>{
           {FrictionLaw::hazen_williams, 0.617815971}, {FrictionLaw::blasius, 0.787343226}}) {
    test::EvenLine even = reference_lateral(0, law);
    even.emitter = {1.6, 100, 0, 0, 0};
    const test::MarchedLine found = test::march(test::march_line(even), 10);
    EXPECT_NEAR(10 - found.pressure_head_m.back(), loss_m, 5.1e-10) << to_text(law);
  }
}

// Energy and mass, whatever the law: each reach loses what the friction says of its flow.
TEST(LateralMarchReference, HeadsAndFlowsBalance) {
  const test::EvenLine even = reference_lateral(0.01, FrictionLaw::darcy_weisbach);
  const test::MarchedLine found = test::march(test::march_line(even), 10);
  double sum = 0;
  double before = 10;
  for (std::size_t i = 0; i < found.flow_m3_s.size(); ++i) {
    sum += found.outflow_m3_s[i];
    const double head = found.pressure_head_m[i] + 0.01 * 0.5 * (static_cast<double>(i) + 1);
    EXPECT_NEAR(before - head, head_loss(even.friction, 0.5, 0.016, 0, found.flow_m3_s[i]).head_m,
                1e-12);
    before = head;
  }
  EXPECT_NEAR(sum / found.inflow_m3_s(), 1, 1e-13);
}

// Water stands below the far end: the outlets above it stay dry.
TEST(LateralMarchReference, OutletsAboveTheWaterGiveNothing) {
  const test::EvenLine even = reference_lateral(0.2, FrictionLaw::darcy_weisbach);
  const test::MarchedLine found = test::march(test::march_line(even), 10);
  EXPECT_EQ(found.outflow_m3_s.back(), 0);
  EXPECT_GT(found.outflow_m3_s.front(), 0);
  EXPECT_LT(found.pressure_head_m.back(), 0);
}

}  // namespace
}  // namespace evendrip
