// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/network.hpp"

#include "evendrip/base/error.hpp"
#include "networks.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

namespace evendrip {
namespace {

constexpr FrictionLaw all_laws[] = {FrictionLaw::darcy_weisbach, FrictionLaw::blasius,
                                    FrictionLaw::hazen_williams};

std::size_t at(int i) {
  return static_cast<std::size_t>(i);
}

void expect_balanced(const Network& network, const NetworkState& state) {
  EXPECT_LE(mass_imbalance(network, state), 1e-9);
  EXPECT_LE(energy_imbalance_m(network, state), 1e-9);
  EXPECT_LE(state.imbalance_frac, 1e-9);
}

std::string code_of_failure(const Network& network) {
  try {
    solve_network(network);
  } catch (const InputError& error) {
    return error.problems().front().code;
  }
  return "";
}

TEST(Network, BalancesMassAtEveryNodeAndEnergyAlongEveryPipe) {
  for (const FrictionLaw law : all_laws) {
    for (const Network& network : {single_lateral(300, 0.5, 0.016, 12, 0.004, law),
                                   ladder(12, 40, 12, law).network, mesh(12, 15, law)}) {
      const NetworkState state = solve_network(network);
      expect_balanced(network, state);
      EXPECT_LE(state.iterations, 10) << to_text(law);
    }
  }
}

TEST(Network, LosesNoHeadRoundALoop) {
  const Ladder made = ladder(6, 20, 10);
  const NetworkState state = solve_network(made.network);
  const auto loss = [&](int pipe) {
    const Pipe& p = made.network.pipes[at(pipe)];
    return head_loss(made.network.frictions[0], p.length_m, p.diameter_m, p.minor_k,
                     state.flow_m3_s[at(pipe)])
        .head_m;
  };
  for (std::size_t i = 0; i + 1 < made.first_pipe.size(); ++i) {
    double sum = 0;  // up lateral i, back down lateral i + 1
    for (int p = made.first_pipe[i]; p <= made.last_pipe[i]; ++p) sum += loss(p);
    for (int p = made.first_pipe[i + 1]; p <= made.last_pipe[i + 1]; ++p) sum -= loss(p);
    sum -= loss(made.last_pipe[i + 1] + 1);   // flush manifold, from end i + 1 to end i
    sum -= loss(made.first_pipe[i + 1] - 1);  // supply manifold, from joint i to joint i + 1
    EXPECT_NEAR(sum, 0, 1e-8) << i;
  }
}

TEST(Network, GivesMoreEverywhereAtAHigherInletPressure) {
  for (const double exponent : {0.1, 0.5, 1.0}) {
    Network network = ladder(8, 25, 4).network;
    network.curves[0].exponent = exponent;
    NetworkState lower = solve_network(network);
    for (const double head : {5.0, 8.0, 20.0, 50.0}) {
      network.fixed_heads[0].head_m = head;
      const NetworkState higher = solve_network(network);
      EXPECT_GT(higher.inflow_m3_s, lower.inflow_m3_s);
      for (std::size_t i = 0; i < higher.discharge_lph.size(); ++i)
        ASSERT_GT(higher.discharge_lph[i], lower.discharge_lph[i]) << exponent << " " << head;
      lower = higher;
    }
  }
}

TEST(Network, DoesNotDependOnTheOrderOfNodesAndPipes) {
  for (const Network& network :
       {single_lateral(200, 0.5, 0.013, 10), ladder(10, 30, 12).network, mesh(9, 12)}) {
    const NetworkState state = solve_network(network);
    for (const unsigned seed : {1U, 2U, 3U}) {
      const Shuffled other = shuffled(network, seed);
      const NetworkState again = solve_network(other.network);
      for (std::size_t i = 0; i < state.head_m.size(); ++i)
        ASSERT_NEAR(again.head_m[at(other.node_of[i])], state.head_m[i], 1e-9);
      for (std::size_t i = 0; i < state.flow_m3_s.size(); ++i)
        ASSERT_NEAR(again.flow_m3_s[at(other.pipe_of[i])],
                    state.flow_m3_s[i] * (i % 2 == 1 ? -1 : 1), 1e-9 * state.inflow_m3_s);
      for (std::size_t i = 0; i < state.discharge_lph.size(); ++i)
        ASSERT_NEAR(again.discharge_lph[i], state.discharge_lph[i], 1e-9 * state.discharge_lph[i]);
    }
  }
}

TEST(Network, ReturnsTheSameBitsWhenSolvedAgain) {
  const Network network = mesh(10, 12);
  const NetworkSolver solver(network);
  const NetworkState first = solver.solve(network);
  const NetworkState second = solver.solve(network);
  EXPECT_EQ(first.head_m, second.head_m);
  EXPECT_EQ(first.flow_m3_s, second.flow_m3_s);
  EXPECT_EQ(first.discharge_lph, second.discharge_lph);
}

TEST(Network, MayBeSolvedByManyThreadsAtOnce) {
  const Network network = mesh(8, 12);
  const NetworkSolver solver(network);
  const NetworkState alone = solver.solve(network);
  std::vector<NetworkState> states(4);
  std::vector<std::thread> threads;
  for (NetworkState& state : states) threads.emplace_back([&] { state = solver.solve(network); });
  for (std::thread& thread : threads) thread.join();
  for (const NetworkState& state : states) EXPECT_EQ(state.head_m, alone.head_m);
}

TEST(Network, BeginsFromTheStateOfASimilarNetwork) {
  Network network = ladder(10, 50, 12).network;
  const NetworkSolver solver(network);
  const NetworkState near = solver.solve(network);
  network.fixed_heads[0].head_m = 12.01;
  const NetworkState fresh = solver.solve(network);
  const NetworkState warm = solver.solve(network, &near);
  EXPECT_LE(warm.iterations, 2);
  EXPECT_LE(warm.iterations, fresh.iterations);
  for (std::size_t i = 0; i < fresh.head_m.size(); ++i)
    ASSERT_NEAR(warm.head_m[i], fresh.head_m[i], 1e-9);
  EXPECT_EQ(solver.solve(network, &fresh).iterations, 1);
}

TEST(Network, IgnoresAStartOfAnotherNetwork) {
  const Network network = ladder(3, 5, 12).network;
  const NetworkState other = solve_network(single_lateral(4, 0.5, 0.016, 10));
  const NetworkSolver solver(network);
  EXPECT_EQ(solver.solve(network, &other).head_m, solver.solve(network).head_m);
}

TEST(Network, LeavesDryWhatOnlyShutPipesFeed) {
  Network network = single_lateral(10, 0.5, 0.016, 10, 0.01);
  network.pipes[4].shut = true;
  const NetworkState state = solve_network(network);
  expect_balanced(network, state);
  for (int node = 0; node <= 10; ++node) {
    EXPECT_EQ(state.dry[at(node)] != 0, node >= 5) << node;
    if (node >= 5) {
      EXPECT_EQ(state.head_m[at(node)], network.elevation_m[at(node)]);
      EXPECT_EQ(state.discharge_lph[at(node - 1)], 0);
      EXPECT_EQ(state.flow_m3_s[at(node - 1)], 0);
    } else if (node > 0) {
      EXPECT_GT(state.discharge_lph[at(node - 1)], 1.5);
    }
  }
  const NetworkState shorter = solve_network(single_lateral(4, 0.5, 0.016, 10, 0.01));
  EXPECT_NEAR(state.inflow_m3_s, shorter.inflow_m3_s, 1e-12 * shorter.inflow_m3_s);
}

TEST(Network, FeedsALateralWithAShutInletThroughTheFlushManifold) {
  Ladder made = ladder(10, 40, 12);
  const NetworkSolver solver(made.network);
  const NetworkState clean = solver.solve(made.network);
  made.network.pipes[at(made.first_pipe[4])].shut = true;
  const NetworkState state = solver.solve(made.network);
  expect_balanced(made.network, state);
  EXPECT_EQ(state.flow_m3_s[at(made.first_pipe[4])], 0);
  for (int k = 0; k < 40; ++k) {
    const std::size_t outlet = at(4 * 40 + k);
    EXPECT_FALSE(state.dry[at(made.network.outlets[outlet].node)]);
    EXPECT_GT(state.discharge_lph[outlet], 0.5 * clean.discharge_lph[outlet]);
    EXPECT_LT(state.discharge_lph[outlet], clean.discharge_lph[outlet]);
  }
  expect_balanced(made.network, solver.solve(made.network, &clean));
}

TEST(Network, OpensWhatWasDryInTheStateItBeginsFrom) {
  Network network = single_lateral(50, 0.5, 0.016, 10);
  const NetworkSolver solver(network);
  const NetworkState open = solver.solve(network);
  network.pipes[10].shut = true;
  const NetworkState part = solver.solve(network, &open);
  network.pipes[10].shut = false;
  const NetworkState again = solver.solve(network, &part);
  for (std::size_t i = 0; i < open.head_m.size(); ++i)
    ASSERT_NEAR(again.head_m[i], open.head_m[i], 1e-9);
}

TEST(Network, SaysHowManyNodesNothingFeeds) {
  Network network = single_lateral(3, 0.5, 0.016, 10);
  const int a = add_node(network);
  const int b = add_node(network);
  add_pipe(network, a, b, 1, 0.016);
  try {
    solve_network(network);
    FAIL() << "solved";
  } catch (const InputError& error) {
    const Doubt& doubt = error.problems().front();
    EXPECT_EQ(doubt.code, "zone_not_fed");
    EXPECT_NE(doubt.text.find("2 of 6 nodes"), std::string::npos) << doubt.text;
    EXPECT_NE(doubt.text.find("node 4"), std::string::npos) << doubt.text;
  }
  network = single_lateral(3, 0.5, 0.016, 10);
  network.fixed_heads.clear();
  EXPECT_EQ(code_of_failure(network), "zone_not_fed");
}

TEST(Network, GivesNothingBeyondTheReachOfThePressure) {
  const Network network = single_lateral(100, 1, 0.016, 2, 0.05);  // 2 m of head, 5 m of rise
  const NetworkState state = solve_network(network);
  expect_balanced(network, state);
  EXPECT_GT(state.discharge_lph.front(), 0.6);
  int silent = 0;
  for (std::size_t i = 0; i < 100; ++i) {
    const double kpa = state.pressure_kpa(network, static_cast<int>(i) + 1);
    EXPECT_EQ(state.discharge_lph[i] == 0, kpa <= 0);
    silent += kpa <= 0;
  }
  EXPECT_GE(silent, 60);
  EXPECT_LE(silent, 65);
}

TEST(Network, IsStillWhereNoOutletCanBeReached) {
  Network network = single_lateral(20, 0.5, 0.016, -1);
  const NetworkState state = solve_network(network);
  EXPECT_EQ(state.inflow_m3_s, 0);
  for (const double lph : state.discharge_lph) EXPECT_EQ(lph, 0);
  for (const double head : state.head_m) EXPECT_NEAR(head, -1, 1e-9);
}

TEST(Network, HoldsTheDischargeOfCompensatingEmittersWithinTheirRange) {
  for (const double head : {3.0, 6.0, 12.0, 18.0, 45.0}) {
    Network network = ladder(10, 60, head).network;
    network.curves[0] = {1.6, 100, 0.5, 50, 150};
    const NetworkState state = solve_network(network);
    expect_balanced(network, state);
    for (std::size_t i = 0; i < state.discharge_lph.size(); ++i) {
      const double kpa = state.pressure_kpa(network, network.outlets[i].node);
      if (kpa >= 50 && kpa <= 150) {
        EXPECT_DOUBLE_EQ(state.discharge_lph[i], 1.6);
      } else if (kpa < 50) {
        EXPECT_LT(state.discharge_lph[i], 1.6);
      } else {
        EXPECT_GT(state.discharge_lph[i], 1.6);
      }
    }
  }
}

TEST(Network, ScalesAnOutletByItsFactor) {
  Network network = single_lateral(5, 0.5, 0.05, 10);
  network.outlets[2].factor = 0;
  network.outlets[3].factor = 0.5;
  const NetworkState state = solve_network(network);
  EXPECT_EQ(state.discharge_lph[2], 0);
  EXPECT_NEAR(state.discharge_lph[3], 0.8, 1e-4);
  EXPECT_NEAR(state.inflow_m3_s * 3.6e6, 3 * 1.6 + 0.8, 1e-3);
}

TEST(Network, SharesTheFlowOfParallelPipes) {
  Network network = empty_network();
  const int inlet = add_node(network);
  const int end = add_node(network);
  network.fixed_heads.push_back({inlet, 10});
  add_pipe(network, inlet, end, 10, 0.02);
  add_pipe(network, end, inlet, 10, 0.02);
  network.outflows.push_back({end, 1e-4});
  const NetworkState state = solve_network(network);
  EXPECT_NEAR(state.flow_m3_s[0], 5e-5, 1e-15);
  EXPECT_NEAR(state.flow_m3_s[1], -5e-5, 1e-15);
}

TEST(Network, LetsWaterFlowFromTheHigherToTheLowerInlet) {
  Network network = single_lateral(40, 0.5, 0.016, 12);
  network.fixed_heads.push_back({40, 12});
  const NetworkState both = solve_network(network);
  expect_balanced(network, both);
  EXPECT_LT(both.flow_m3_s.back(), 0);  // fed from both sides
  network.fixed_heads.back().head_m = 8;
  const NetworkState through = solve_network(network);
  expect_balanced(network, through);
  EXPECT_GT(through.flow_m3_s.back(), 0);
  double total = 0;
  for (const double lph : through.discharge_lph) total += lph / 3.6e6;
  EXPECT_NEAR(through.inflow_m3_s, total, 1e-12);
}

TEST(Network, FindsTheFlowOfCutsThatTakeMostOfTheWater) {
  for (const double head : {1.0, 5.0, 15.0}) {
    for (const bool compensating : {false, true}) {
      Network network = ladder(20, 80, head).network;
      if (compensating) network.curves[0] = {1.6, 100, 0.5, 50, 150};
      network.curves.push_back(opening_curve(3.14159 / 4 * 0.016 * 0.016));
      for (const int cut : {30, 700, 705, 1500})
        network.outlets.push_back({network.outlets[at(cut)].node, 1, 1});
      const NetworkState state = solve_network(network);
      expect_balanced(network, state);
      EXPECT_LE(state.iterations, 30) << head;
      double cuts = 0;
      for (std::size_t i = 1600; i < 1604; ++i) cuts += state.discharge_lph[i] / 3.6e6;
      EXPECT_GT(cuts, 0.3 * state.inflow_m3_s);
    }
  }
}

TEST(Network, SolvesWildNetworks) {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> unit(0, 1);
  const auto between = [&](double low, double high) {
    return low * std::pow(high / low, unit(random));
  };
  for (int repeat = 0; repeat < 200; ++repeat) {
    Network network = empty_network(all_laws[repeat % 3]);
    network.curves.push_back({between(0.2, 5), 100, 0, 0, 0});
    network.curves.push_back({between(0.2, 5), 100, 0.45, 40, 200});
    network.curves.push_back(opening_curve(1e-4));
    const int nodes = 3 + static_cast<int>(60 * unit(random));
    for (int i = 0; i < nodes; ++i) {
      add_node(network, 6 * unit(random));
      if (i > 0)
        add_pipe(network, i, static_cast<int>(unit(random) * i), between(0.01, 200),
                 between(0.008, 0.2), unit(random) < 0.3 ? between(0.1, 100) : 0);
      const double pick = unit(random);
      if (pick < 0.9) network.outlets.push_back({i, static_cast<int>(pick * 4), unit(random)});
    }
    for (int i = 0; i < nodes / 3; ++i) {
      const int from = static_cast<int>(unit(random) * nodes);
      const int to = static_cast<int>(unit(random) * nodes);
      if (from != to) add_pipe(network, from, to, between(0.01, 200), between(0.008, 0.2));
    }
    for (Pipe& pipe : network.pipes) pipe.shut = unit(random) < 0.05;
    network.fixed_heads.push_back({0, between(1, 60)});
    if (unit(random) < 0.3) network.fixed_heads.push_back({nodes - 1, between(1, 60)});
    const NetworkState state = solve_network(network);
    EXPECT_LE(mass_imbalance(network, state), 1e-9) << repeat;
    EXPECT_LE(energy_imbalance_m(network, state), 1e-8) << repeat;
    EXPECT_LE(state.iterations, 50) << repeat;
  }
}

TEST(Network, RefusesValuesThatMakeNoSense) {
  const auto refused = [](auto change) {
    Network network = single_lateral(3, 0.5, 0.016, 10);
    change(network);
    return code_of_failure(network) == "bad_network";
  };
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_TRUE(refused([](Network& n) { n.pipes[1].length_m = 0; }));
  EXPECT_TRUE(refused([](Network& n) { n.pipes[1].diameter_m = -0.016; }));
  EXPECT_TRUE(refused([](Network& n) { n.pipes[1].to = 9; }));
  EXPECT_TRUE(refused([](Network& n) { n.pipes[1].to = n.pipes[1].from; }));
  EXPECT_TRUE(refused([](Network& n) { n.pipes[1].friction = 1; }));
  EXPECT_TRUE(refused([](Network& n) { n.pipes[1].minor_k = -1; }));
  EXPECT_TRUE(refused([](Network& n) { n.outlets[0].node = -1; }));
  EXPECT_TRUE(refused([](Network& n) { n.outlets[0].curve = 2; }));
  EXPECT_TRUE(refused([=](Network& n) { n.outlets[0].factor = nan; }));
  EXPECT_TRUE(refused([=](Network& n) { n.elevation_m[2] = nan; }));
  EXPECT_TRUE(refused([=](Network& n) { n.fixed_heads[0].head_m = nan; }));
  EXPECT_TRUE(refused([=](Network& n) { n.outflows.push_back({1, nan}); }));
  EXPECT_TRUE(refused([](Network& n) { n.curves[0].rated_kpa = 0; }));
  EXPECT_TRUE(refused([](Network& n) { n.curves[0].exponent = 1.5; }));
  EXPECT_TRUE(refused([](Network& n) { n.frictions[0].viscosity_m2_s = 0; }));
  EXPECT_FALSE(refused([](Network&) {}));
}

TEST(Network, RefusesToSolveOtherPipesThanItAnalysed) {
  const Network network = single_lateral(3, 0.5, 0.016, 10);
  const NetworkSolver solver(network);
  EXPECT_THROW(solver.solve(single_lateral(4, 0.5, 0.016, 10)), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
