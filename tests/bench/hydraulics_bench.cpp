// SPDX-License-Identifier: Apache-2.0
// A zone of equal laterals between a supply and a flush manifold, solved and timed; written down
// for a peer, which network_peer.mjs runs on the same pipes.
//
// usage: hydraulics_bench LATERALS EMITTERS hazen_williams|darcy_weisbach REPEATS [OUT]
// One lateral: a single line with a closed end. The inlet is at the first end of the supply
// manifold, 12 m of head, on level ground. Prints JSON: best times of REPEATS in seconds. With OUT
// writes OUT_nodes.csv (node, discharge; the inlet is node 0) and OUT_pipes.csv (from, to, length,
// diameter).
#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>
#include <fstream>
#include <limits>
#include <string>
#include <vector>

#include <sys/resource.h>

#include <fmt/core.h>

#include "evendrip/hydraulics/network.hpp"

namespace {

using namespace evendrip;

constexpr double emitter_spacing_m = 0.3;
constexpr double lateral_spacing_m = 1.5;
constexpr double lateral_diameter_m = 0.022;
constexpr double inlet_head_m = 12;
constexpr double rated_lph = 0.6;
constexpr double inlet_speed_m_s = 1.2;

struct Zone {
  Network network;
  int add_node() {
    network.elevation_m.push_back(0);
    return static_cast<int>(network.elevation_m.size()) - 1;
  }
  void add_pipe(int from, int to, double length_m, double diameter_m) {
    Pipe pipe;
    pipe.from = from;
    pipe.to = to;
    pipe.length_m = length_m;
    pipe.diameter_m = diameter_m;
    network.pipes.push_back(pipe);
  }
};

/// A manifold that carries the whole zone at its inlet.
double manifold_diameter_m(int laterals, int emitters) {
  const double flow = rated_lph / 3.6e6 * laterals * emitters;
  return std::max(0.05, std::sqrt(flow / inlet_speed_m_s * 4 / 3.141592653589793));
}

Network zone_of(int laterals, int emitters, FrictionLaw law) {
  Zone zone;
  zone.network.curves.push_back({rated_lph, 100, 0.5, 0, 0});
  Friction friction;
  friction.law = law;
  zone.network.frictions.push_back(friction);
  const double manifold_m = manifold_diameter_m(laterals, emitters);
  int supply = zone.add_node();
  zone.network.fixed_heads.push_back({supply, inlet_head_m});
  int flush = -1;
  for (int i = 0; i < laterals; ++i) {
    const int joint = zone.add_node();
    zone.add_pipe(supply, joint, lateral_spacing_m, manifold_m);
    supply = joint;
    int before = joint;
    for (int k = 0; k < emitters; ++k) {
      const int node = zone.add_node();
      zone.add_pipe(before, node, emitter_spacing_m, lateral_diameter_m);
      zone.network.outlets.push_back({node, 0, 1});
      before = node;
    }
    if (laterals == 1) break;
    const int end = zone.add_node();
    zone.add_pipe(before, end, emitter_spacing_m, lateral_diameter_m);
    if (flush >= 0) zone.add_pipe(flush, end, lateral_spacing_m, manifold_m / 2);
    flush = end;
  }
  return zone.network;
}

void write_down(const Network& network, const NetworkState& state, const std::string& name) {
  std::ofstream nodes(name + "_nodes.csv");
  nodes << "node,discharge_lph\n";
  for (std::size_t i = 0; i < network.outlets.size(); ++i)
    nodes << fmt::format("{},{:.17g}\n", network.outlets[i].node, state.discharge_lph[i]);
  std::ofstream pipes(name + "_pipes.csv");
  pipes << "from,to,length_m,diameter_mm\n";
  for (const Pipe& pipe : network.pipes)
    pipes << fmt::format("{},{},{:.17g},{:.17g}\n", pipe.from, pipe.to, pipe.length_m,
                         pipe.diameter_m * 1000);
}

using Clock = std::chrono::steady_clock;

double seconds_since(Clock::time_point start) {
  return std::chrono::duration<double>(Clock::now() - start).count();
}

double processor_seconds() {
  return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

double memory_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

int solve(int laterals, int emitters, FrictionLaw law, int repeats, const std::string& out) {
  const Network network = zone_of(laterals, emitters, law);
  double analysis = std::numeric_limits<double>::infinity();
  double solution = analysis;
  double processor = analysis;
  NetworkState state;
  for (int i = 0; i < repeats; ++i) {
    const auto begin = Clock::now();
    const NetworkSolver solver(network);
    analysis = std::min(analysis, seconds_since(begin));
    const auto analysed = Clock::now();
    const double processor_before = processor_seconds();
    state = solver.solve(network);
    solution = std::min(solution, seconds_since(analysed));
    processor = std::min(processor, processor_seconds() - processor_before);
  }
  if (!out.empty()) write_down(network, state, out);
  const auto [least, most] =
      std::minmax_element(state.discharge_lph.begin(), state.discharge_lph.end());
  fmt::print(
      "{{\"emitters\": {}, \"head_m\": {}, \"rated_lph\": {}, \"analysis_s\": {:.6f}, "
      "\"solve_s\": {:.6f}, \"solve_processor_s\": {:.6f}, \"iterations\": {}, \"imbalance\": "
      "{:.1e}, \"memory_mb\": {:.0f}, "
      "\"total_lph\": {:.6f}, \"least_lph\": {:.6f}, \"most_lph\": {:.6f}}}\n",
      network.outlets.size(), inlet_head_m, rated_lph, analysis, solution, processor,
      state.iterations, state.imbalance_frac, memory_mb(), state.inflow_m3_s * 3.6e6, *least,
      *most);
  return 0;
}

}  // namespace

int main(int count, char** texts) {
  const std::vector<std::string> words(texts + 1, texts + count);
  if (words.size() < 4 || words.size() > 5 ||
      (words[2] != "hazen_williams" && words[2] != "darcy_weisbach")) {
    fmt::print(stderr, "usage: see the first lines of hydraulics_bench.cpp\n");
    return 2;
  }
  const FrictionLaw law =
      words[2] == "hazen_williams" ? FrictionLaw::hazen_williams : FrictionLaw::darcy_weisbach;
  return solve(std::stoi(words[0]), std::stoi(words[1]), law, std::stoi(words[3]),
               words.size() > 4 ? words[4] : "");
}
