// SPDX-License-Identifier: Apache-2.0
// The linear system of a network: sum over the pipes of a node of g (x_node - x_other), plus e
// x_node, equals r; x is 0 at fixed nodes. g > 0 conductance, e >= 0 conductance to the ground.
//
// Nodes with at most two neighbours go first, again and again, each replaced by what it did to its
// neighbours (star-mesh transform, Rosen 1924, J. IEE 62:916-918, from memory): an emitter line, a
// tree, the ladder of a supply and a flush manifold dissolve wholly, in a time linear in nodes.
// Only sums and products of positive numbers occur, so no digit is lost however unlike the
// conductances are. What is left of densely looped networks goes to Eigen's LDLT.
#pragma once

#include <memory>
#include <vector>

#include "evendrip/hydraulics/network.hpp"

namespace evendrip {

/// The order of elimination: of nodes and pipe ends alone. Safe to share between threads.
class NetworkElimination {
 public:
  explicit NetworkElimination(const Network& network);

  struct Step {
    int node = 0;
    int a = 0;  ///< neighbour; the ground beyond the last node if there is none
    int b = 0;  ///< another neighbour, likewise
    int edge_a = 0;
    int edge_b = 0;
    int edge_ab = 0;  ///< between the neighbours
  };
  struct Edge {
    int a = 0;
    int b = 0;
    int edge = 0;
  };

  int nodes = 0;
  int edges = 0;               ///< with those that elimination makes; the last stays empty
  std::vector<int> pipe_edge;  ///< of each pipe; parallel pipes share one
  std::vector<Step> steps;
  std::vector<int> core;         ///< nodes that are left
  std::vector<Edge> core_edges;  ///< between them
};

/// Numbers of one system; factored anew by each solve().
class NetworkSystem {
 public:
  explicit NetworkSystem(const NetworkElimination& order);
  ~NetworkSystem();

  void clear();
  void add_conductance(int pipe, double g) { conductance_[edge_of(pipe)] += g; }
  void set_ground(int node, double e) { ground_[static_cast<std::size_t>(node)] = e; }
  void set_right_side(int node, double r) { value_[static_cast<std::size_t>(node)] = r; }
  void fix(int node) { fixed_[static_cast<std::size_t>(node)] = 1; }  ///< stays after clear()
  /// x of each node (and of the ground, last).
  const std::vector<double>& solve();

 private:
  std::size_t edge_of(int pipe) const {
    return static_cast<std::size_t>(order_.pipe_edge[static_cast<std::size_t>(pipe)]);
  }
  void eliminate();
  void solve_core();
  void substitute();

  struct Core;
  const NetworkElimination& order_;
  std::vector<double> conductance_;
  std::vector<double> ground_;
  std::vector<double> value_;  ///< right side, then solution
  std::vector<char> fixed_;
  struct Share {
    double a = 0;
    double b = 0;
    double own = 0;
  };
  std::vector<Share> shares_;  ///< of each step
  std::unique_ptr<Core> core_;
};

}  // namespace evendrip
