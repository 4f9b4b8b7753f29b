// SPDX-License-Identifier: Apache-2.0
// Heads and flows of a network on their way to balance: Newton's method on both (Todini & Pilati
// 1988), damped where a full step makes matters worse.
#pragma once

#include <vector>

#include "evendrip/hydraulics/network.hpp"
#include "network_elimination.hpp"
#include "network_graph.hpp"

namespace evendrip {

class NetworkNewton {
 public:
  /// `forest`: of the open pipes; what it does not reach is dry. Borrows its arguments.
  NetworkNewton(const Network& network, const NetworkElimination& order,
                const FeedingForest& forest);

  /// Flows along the feeding pipes that meet the outlets at the heads of no flow, and the heads
  /// that follow from them.
  void start_from_trees();
  void start_from(const NetworkState& state);

  /// True when every node and pipe is in balance; false if it does not come to that.
  bool converge();
  NetworkState state() const;

 private:
  struct Point {
    std::vector<double> head_m;
    std::vector<double> flow_m3_s;
    std::vector<double> outlet_m3_s;  ///< of each outlet; only where it is an unknown of its own
  };
  struct Residuals {
    std::vector<double> node_m3_s;     ///< in less out
    std::vector<double> pipe_m;        ///< loss less fall of head
    std::vector<double> pipe_slope;    ///< d loss / d flow; 0 where nothing can flow
    std::vector<double> node_slope;    ///< d outlets' discharge / d head
    std::vector<double> outlet_m;      ///< pressure head its flow asks for, less the one it has
    std::vector<double> outlet_slope;  ///< d pressure head / d flow; 0 where it is not an unknown
    double merit = 0;
    double inflow_m3_s = 0;  ///< at the fixed heads that feed
    double largest_node_m3_s = 0;
    double largest_pipe_m = 0;
  };

  /// Whether an outlet's discharge follows from the pressure at once, or is an unknown that meets
  /// it by and by. The first is quick, the second finds its way where large openings and pressures
  /// near 0 send the first to and fro, since pressure is a convex function of flow.
  enum class Outlets { follow, approach };
  enum class Damping { none, give_up, halve };  ///< where a full step makes matters worse
  bool iterate(Outlets form, int most, Damping damping);
  void evaluate();
  void add_pipes();
  void add_outlets();
  void approach_outlet(std::size_t outlet, double per_lph);
  void weigh();
  void solve_step();
  double move(const Point& from, double part);
  bool balanced() const;
  double discharge_m3_s(const Outlet& outlet) const;

  const Network& network_;
  const FeedingForest& forest_;
  NetworkSystem system_;
  std::vector<PipeLoss> losses_;
  std::vector<int> loss_of_;  ///< of each pipe, into losses_; equal pipes in a row share one
  std::vector<char> open_;    ///< pipes that can carry
  std::vector<char> fixed_;   ///< nodes of a fixed head
  Outlets form_ = Outlets::follow;
  Point point_;
  Point step_;
  Residuals residuals_;
  double flow_scale_m3_s_ = 0;
  double head_scale_m_ = 1;
  double last_correction_m_ = 0;
  int iterations_ = 0;
};

}  // namespace evendrip
