// SPDX-License-Identifier: Apache-2.0
// Networks against printed laterals, the closed forms of lines with constant outflow, the step by
// step solution of single lines, and figures of an EPANET engine.
#include "evendrip/hydraulics/network.hpp"

#include "lateral_march.hpp"
#include "networks.hpp"
#include "printed_laterals.hpp"
#include "reference_table.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <string>
#include <vector>

namespace evendrip {
namespace {

Network reference_lateral(double slope, FrictionLaw law) {
  Network network = single_lateral(200, 0.5, 0.016, 10, slope, law);
  if (law == FrictionLaw::hazen_williams)
    network.frictions[0].multiplier = test::printed_hazen_williams;
  network.frictions[0].viscosity_m2_s = 1.003e-6;
  network.curves[0] = {0.50596, pressure_kpa(1), 0.5, 0, 0};
  return network;
}

// tests/reference/laterals.txt names its source.
TEST(NetworkReference, LateralsOnFlatAndSlopingGround) {
  int rows = 0;
  for (const auto& cells : test::reference_table("laterals.txt")) {
    SCOPED_TRACE(cells[1] + " rising " + cells[0]);
    const Network network = reference_lateral(std::stod(cells[0]), test::law_of(cells[1]));
    const NetworkState state = solve_network(network);
    std::vector<double> pressure_m;
    for (int node = 1; node <= 200; ++node)
      pressure_m.push_back(head_m(state.pressure_kpa(network, node)));
    const auto lowest = std::min_element(pressure_m.begin(), pressure_m.end());
    test::expect_printed(state.inflow_m3_s * 3.6e6, cells[2]);
    test::expect_printed(pressure_m.back(), cells[3]);
    test::expect_printed(*lowest, cells[4]);
    EXPECT_EQ(static_cast<unsigned long>(lowest - pressure_m.begin()) + 1, std::stoul(cells[5]));
    test::expect_printed(state.discharge_lph[0], cells[6]);
    test::expect_printed(state.discharge_lph[99], cells[7]);
    test::expect_printed(state.discharge_lph[199], cells[8]);
    ++rows;
  }
  EXPECT_EQ(rows, 7);
}

/// A line of equal fixed outflows, the first a fraction of a spacing from the inlet.
Network fixed_outflow_line(int outlets, double first_fraction, FrictionLaw law) {
  Network network = empty_network(law);
  network.frictions[0].viscosity_m2_s = 1.003e-6;
  network.fixed_heads.push_back({add_node(network), 10});
  for (int i = 1; i <= outlets; ++i) {
    const int node = add_node(network);
    add_pipe(network, node - 1, node, i == 1 ? 0.5 * first_fraction : 0.5, 0.016);
    network.outflows.push_back({node, 1.6 / 3.6e6});
  }
  return network;
}

// Full-flow loss times the exact multiple-outlet factor of 200 outlets (0.353134993 and
// 0.366140005), worked out apart by summing 200 reaches.
TEST(NetworkReference, ConstantOutflowLosesFactorTimesFullLoss) {
  Network network = fixed_outflow_line(200, 1, FrictionLaw::hazen_williams);
  network.frictions[0].multiplier = test::printed_hazen_williams;
  EXPECT_NEAR(10 - solve_network(network).head_m.back(), 0.617815971, 5.1e-10);
  network = fixed_outflow_line(200, 1, FrictionLaw::blasius);
  EXPECT_NEAR(10 - solve_network(network).head_m.back(), 0.787343226, 5.1e-10);
}

// Christiansen 1942 and Jensen & Fratini 1957: approximations of the exact sum, the first
// to 4 decimals and the second to 3 from 5 outlets up.
TEST(NetworkReference, LossOfConstantOutflowFollowsTheMultipleOutletFactors) {
  for (const auto& [law, exponent] : std::map<FrictionLaw, double>{
           {FrictionLaw::hazen_williams, 1.852}, {FrictionLaw::blasius, 1.75}}) {
    for (const int outlets : {1, 2, 4, 5, 10, 30, 100, 500}) {
      for (const double fraction : {1.0, 0.5}) {
        const Network network = fixed_outflow_line(outlets, fraction, law);
        const double length = 0.5 * (outlets - 1 + fraction);
        const double whole =
            head_loss(network.frictions[0], length, 0.016, 0, outlets * 1.6 / 3.6e6).head_m;
        const double loss = 10 - solve_network(network).head_m.back();
        // 1e-14 m is the rounding of a head of 10 m.
        EXPECT_NEAR(loss, whole * multiple_outlet_factor(outlets, exponent, fraction),
                    1e-14 + 1e-9 * loss);
        if (outlets < 5) continue;
        const double approximation = fraction == 1 ? christiansen_factor(outlets, exponent)
                                                   : jensen_fratini_factor(outlets, exponent);
        EXPECT_NEAR(loss / whole, approximation, fraction == 1 ? 1e-4 : 1e-3) << outlets;
      }
    }
  }
}

TEST(NetworkReference, ATreeSolvedStepByStepEqualsTheNetwork) {
  for (const FrictionLaw law :
       {FrictionLaw::darcy_weisbach, FrictionLaw::blasius, FrictionLaw::hazen_williams}) {
    for (const double slope : {-0.02, 0.0, 0.015, 0.06}) {
      test::EvenLine even;
      even.outlets = 250;
      even.spacing_m = 0.4;
      even.first_m = 0.4;
      even.slope = slope;
      even.diameter_m = 0.0139;
      even.minor_k = 0.3;
      even.friction.law = law;
      even.emitter = {1.6, pressure_kpa(10), 0.5, 0, 0};
      const test::MarchedLine marched = test::march(test::march_line(even), 9);
      Network network = single_lateral(250, 0.4, 0.0139, 9, slope, law);
      for (Pipe& pipe : network.pipes) pipe.minor_k = 0.3;
      const NetworkState state = solve_network(network);
      EXPECT_NEAR(state.inflow_m3_s, marched.inflow_m3_s(), 1e-9 * state.inflow_m3_s);
      for (std::size_t i = 0; i < 250; ++i) {
        ASSERT_NEAR(head_m(state.pressure_kpa(network, static_cast<int>(i) + 1)),
                    marched.pressure_head_m[i], 1e-9 * 9)
            << to_text(law) << " " << slope << " " << i;
        ASSERT_NEAR(state.flow_m3_s[i], marched.flow_m3_s[i], 1e-9 * state.inflow_m3_s);
      }
    }
  }
}

// EPANET engine 2.3.5, ACCURACY 1e-8: 30 emitters at 0.6 m, inside diameter 13.9 mm, 1 % downhill,
// 1 L/h at 10 m, inlet head 10 m, C 150.
TEST(NetworkReference, AHazenWilliamsLateralAgreesWithAnEpanetEngine) {
  Network network = single_lateral(30, 0.6, 0.0139, 10, -0.01, FrictionLaw::hazen_williams);
  network.curves[0] = {1, pressure_kpa(10), 0.5, 0, 0};
  const NetworkState state = solve_network(network);
  test::expect_printed(state.discharge_lph[0], "1.000287");
  test::expect_printed(state.discharge_lph[14], "1.004367");
  test::expect_printed(state.discharge_lph[29], "1.008816");
  test::expect_printed(head_m(state.pressure_kpa(network, 30)), "10.177105");
  test::expect_printed(state.inflow_m3_s * 3.6e6, "30.13583");
}

// The same lateral by the engine's Darcy-Weisbach, laminar here: 64/Re with its own viscosity,
// 1.1e-5 ft2/s, and gravity, 32.2 ft/s2 (both from memory of its manual).
TEST(NetworkReference, ALaminarLateralAgreesWithAnEpanetEngine) {
  Network network = single_lateral(30, 0.6, 0.0139, 10, -0.01);
  network.curves[0] = {1, pressure_kpa(10), 0.5, 0, 0};
  network.frictions[0].viscosity_m2_s = 1.1e-5 * 0.3048 * 0.3048;
  network.frictions[0].multiplier = gravity_m_s2 / (32.2 * 0.3048);
  const NetworkState state = solve_network(network);
  test::expect_printed(state.discharge_lph[0], "1.000271");
  test::expect_printed(state.discharge_lph[29], "1.008521");
  test::expect_printed(head_m(state.pressure_kpa(network, 30)), "10.171142");
  test::expect_printed(state.inflow_m3_s * 3.6e6, "30.13012");
}

// EPANET engine 2.3.5, ACCURACY 1e-8, run on the same pipes: 12 laterals of 40 emitters between two
// manifolds, uneven ground, minor losses, C 150, inlet head 12 m. Its own rounding is 1e-7.
TEST(NetworkReference, ALoopedZoneAgreesWithAnEpanetEngine) {
  const Ladder made = ladder(12, 40, 12, FrictionLaw::hazen_williams);
  const NetworkState state = solve_network(made.network);
  const std::map<std::size_t, double> engine_lph{
      {0, 1.7525848}, {39, 1.7630588}, {100, 1.7375246}, {250, 1.7461398}, {479, 1.7614455}};
  for (const auto& [outlet, lph] : engine_lph)
    EXPECT_NEAR(state.discharge_lph[outlet] / lph, 1, 2e-7) << outlet;
  EXPECT_NEAR(state.inflow_m3_s * 3.6e6 / 841.008112, 1, 1e-7);
  const auto end_flow = [&](std::size_t lateral) {
    return state.flow_m3_s[static_cast<std::size_t>(made.last_pipe[lateral])] * 3.6e6;
  };
  EXPECT_NEAR(end_flow(0), 4.634099, 3e-4);  // out of the first lateral into the flush manifold
  EXPECT_NEAR(end_flow(11), -1.937914, 3e-4);
  EXPECT_NEAR(state.head_m.back(), 11.989692, 1e-6);
}

}  // namespace
}  // namespace evendrip
