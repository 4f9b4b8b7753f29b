// SPDX-License-Identifier: Apache-2.0
// Networks that the tests of the solver share, and the balances that every solution must keep.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <random>
#include <utility>
#include <vector>

#include "evendrip/hydraulics/network.hpp"
#include "evendrip/hydraulics/water.hpp"

namespace evendrip {

inline int add_node(Network& network, double elevation_m = 0) {
  network.elevation_m.push_back(elevation_m);
  return static_cast<int>(network.elevation_m.size()) - 1;
}

inline int add_pipe(Network& network, int from, int to, double length_m, double diameter_m,
                    double minor_k = 0) {
  Pipe pipe;
  pipe.from = from;
  pipe.to = to;
  pipe.length_m = length_m;
  pipe.diameter_m = diameter_m;
  pipe.minor_k = minor_k;
  network.pipes.push_back(pipe);
  return static_cast<int>(network.pipes.size()) - 1;
}

/// Emitters of 1.6 L/h at 10 m of water, exponent 0.5, one friction.
inline Network empty_network(FrictionLaw law = FrictionLaw::darcy_weisbach) {
  Network network;
  network.curves.push_back({1.6, pressure_kpa(10), 0.5, 0, 0});
  Friction friction;
  friction.law = law;
  network.frictions.push_back(friction);
  return network;
}

/// Node 0 is the inlet; an emitter on every other node. Slope: rise for each metre.
inline Network single_lateral(int emitters, double spacing_m, double diameter_m, double head_m,
                              double slope = 0, FrictionLaw law = FrictionLaw::darcy_weisbach) {
  Network network = empty_network(law);
  network.fixed_heads.push_back({add_node(network), head_m});
  for (int i = 1; i <= emitters; ++i) {
    const int node = add_node(network, slope * spacing_m * i);
    add_pipe(network, node - 1, node, spacing_m, diameter_m);
    network.outlets.push_back({node, 0, 1});
  }
  return network;
}

/// Laterals between a supply and a flush manifold on uneven ground; node 0 is the inlet. The pipe
/// from a joint to the first emitter of lateral i is `first_pipe[i]`, the one to the flush manifold
/// `last_pipe[i]`.
struct Ladder {
  Network network;
  std::vector<int> first_pipe;
  std::vector<int> last_pipe;
};
inline Ladder ladder(int laterals, int emitters, double head_m,
                     FrictionLaw law = FrictionLaw::darcy_weisbach) {
  Ladder made{empty_network(law), {}, {}};
  Network& network = made.network;
  int supply = add_node(network);
  network.fixed_heads.push_back({supply, head_m});
  int flush = -1;
  for (int i = 0; i < laterals; ++i) {
    const int joint = add_node(network, 0.03 * std::sin(i));
    add_pipe(network, supply, joint, 1.5, 0.05);
    supply = joint;
    int before = joint;
    made.first_pipe.push_back(static_cast<int>(network.pipes.size()));
    for (int k = 0; k < emitters; ++k) {
      const int node = add_node(network, 0.2 * std::sin(0.3 * k + i));
      add_pipe(network, before, node, 0.5, 0.016, k == 0 ? 1.0 : 0.0);
      network.outlets.push_back({node, 0, 1});
      before = node;
    }
    const int end = add_node(network, 0.1);
    made.last_pipe.push_back(add_pipe(network, before, end, 0.5, 0.016));
    if (flush >= 0) add_pipe(network, end, flush, 1.5, 0.04);
    flush = end;
  }
  return made;
}

/// A square mesh of pipes of unequal size with an emitter on every node; the inlet is in a corner.
inline Network mesh(int side, double head_m, FrictionLaw law = FrictionLaw::darcy_weisbach) {
  Network network = empty_network(law);
  for (int r = 0; r < side; ++r)
    for (int c = 0; c < side; ++c) add_node(network, 0.3 * std::sin(r) * std::cos(2.0 * c));
  for (int r = 0; r < side; ++r)
    for (int c = 0; c < side; ++c) {
      const int node = r * side + c;
      if (c + 1 < side) add_pipe(network, node, node + 1, 2 + (r * 7 + c) % 5, 0.016);
      if (r + 1 < side) add_pipe(network, node, node + side, 3 + (r + c * 3) % 4, 0.02, 0.5);
      if (node > 0) network.outlets.push_back({node, 0, 1.0 + 0.1 * (node % 3)});
    }
  network.fixed_heads.push_back({0, head_m});
  return network;
}

/// The same network with nodes and pipes in another order; `node_of[i]`, `pipe_of[i]`: where they
/// went. Every other pipe runs the other way.
struct Shuffled {
  Network network;
  std::vector<int> node_of;
  std::vector<int> pipe_of;
};
inline Shuffled shuffled(const Network& network, unsigned seed) {
  Shuffled made{network, std::vector<int>(network.elevation_m.size()),
                std::vector<int>(network.pipes.size())};
  std::iota(made.node_of.begin(), made.node_of.end(), 0);
  std::iota(made.pipe_of.begin(), made.pipe_of.end(), 0);
  std::mt19937 random(seed);
  std::shuffle(made.node_of.begin(), made.node_of.end(), random);
  std::shuffle(made.pipe_of.begin(), made.pipe_of.end(), random);
  const auto node = [&made](int old) { return made.node_of[static_cast<std::size_t>(old)]; };
  for (std::size_t i = 0; i < network.elevation_m.size(); ++i)
    made.network.elevation_m[static_cast<std::size_t>(made.node_of[i])] = network.elevation_m[i];
  for (std::size_t i = 0; i < network.pipes.size(); ++i) {
    Pipe pipe = network.pipes[i];
    pipe.from = node(pipe.from);
    pipe.to = node(pipe.to);
    if (i % 2 == 1) std::swap(pipe.from, pipe.to);
    made.network.pipes[static_cast<std::size_t>(made.pipe_of[i])] = pipe;
  }
  for (Outlet& outlet : made.network.outlets) outlet.node = node(outlet.node);
  for (FixedHead& fixed : made.network.fixed_heads) fixed.node = node(fixed.node);
  for (FixedOutflow& outflow : made.network.outflows) outflow.node = node(outflow.node);
  return made;
}

/// Largest difference between what enters and what leaves a node without a fixed head, worked out
/// anew from the flows and the heads, over the inflow.
inline double mass_imbalance(const Network& network, const NetworkState& state) {
  std::vector<double> rest(network.elevation_m.size(), 0);
  const auto at = [](int i) { return static_cast<std::size_t>(i); };
  for (std::size_t i = 0; i < network.pipes.size(); ++i) {
    rest[at(network.pipes[i].from)] -= state.flow_m3_s[i];
    rest[at(network.pipes[i].to)] += state.flow_m3_s[i];
  }
  for (const Outlet& outlet : network.outlets) {
    if (state.dry[at(outlet.node)]) continue;
    const double kpa = state.pressure_kpa(network, outlet.node);
    rest[at(outlet.node)] -=
        outlet.factor * discharge_lph(network.curves[at(outlet.curve)], kpa) / 3.6e6;
  }
  for (const FixedOutflow& outflow : network.outflows)
    if (!state.dry[at(outflow.node)]) rest[at(outflow.node)] -= outflow.flow_m3_s;
  double inflow = 0;
  for (const FixedHead& fixed : network.fixed_heads) {
    inflow += std::max(0.0, -rest[at(fixed.node)]);
    rest[at(fixed.node)] = 0;
  }
  double largest = 0;
  for (const double one : rest) largest = std::max(largest, std::abs(one));
  return inflow > 0 ? largest / inflow : largest;
}

/// Largest difference between the loss of an open, wet pipe and the fall of head along it, m.
inline double energy_imbalance_m(const Network& network, const NetworkState& state) {
  double largest = 0;
  const auto at = [](int i) { return static_cast<std::size_t>(i); };
  for (std::size_t i = 0; i < network.pipes.size(); ++i) {
    const Pipe& pipe = network.pipes[i];
    if (pipe.shut || state.dry[at(pipe.from)] || state.dry[at(pipe.to)]) continue;
    const double loss = head_loss(network.frictions[at(pipe.friction)], pipe.length_m,
                                  pipe.diameter_m, pipe.minor_k, state.flow_m3_s[i])
                            .head_m;
    largest = std::max(largest,
                       std::abs(loss - (state.head_m[at(pipe.from)] - state.head_m[at(pipe.to)])));
  }
  return largest;
}

}  // namespace evendrip
