// SPDX-License-Identifier: Apache-2.0
// Steady flow in a network of pipes with pressure-dependent outlets, trees and loops alike.
//
// Method: global gradient (Todini & Pilati 1988, in Computer Applications in Water Supply 1:1-20),
// Newton's method on heads and flows together; outlets enter the diagonal. Heads are corrected, not
// computed anew, so rounding shrinks with the corrections. The sparse symmetric system is solved by
// eliminating nodes with at most two neighbours, again and again, and Eigen's LDLT for what is left
// of densely looped networks; the order of elimination is kept between solves. Where large openings
// or pressures near 0 would send Newton's steps to and fro, the outlets' discharges become unknowns
// of their own for a while. Time and memory are linear in nodes for laterals between manifolds:
// 200,000 emitters take some 0.1 s and 70 MB.
#pragma once

#include <memory>
#include <vector>

#include "evendrip/hydraulics/emitter_curve.hpp"
#include "evendrip/hydraulics/friction.hpp"

namespace evendrip {

struct Pipe {
  int from = -1;  ///< node
  int to = -1;    ///< node; flow from -> to is positive
  double length_m = 0;
  double diameter_m = 0;
  double minor_k = 0;  ///< on v^2/2g
  int friction = 0;    ///< index into Network::frictions
  bool shut = false;   ///< carries nothing
};

/// A flow out of a node that depends on its pressure: emitter, leak, open end.
struct Outlet {
  int node = -1;
  int curve = 0;      ///< index into Network::curves
  double factor = 1;  ///< on the curve's discharge: wear, clogging, manufacture
};

struct FixedHead {
  int node = -1;
  double head_m = 0;  ///< of water above the datum of the elevations
};

struct FixedOutflow {
  int node = -1;
  double flow_m3_s = 0;  ///< below 0: in; none at a dry node
};

struct Network {
  std::vector<double> elevation_m;  ///< of each node
  std::vector<Pipe> pipes;
  std::vector<Outlet> outlets;
  std::vector<FixedHead> fixed_heads;
  std::vector<FixedOutflow> outflows;
  std::vector<EmitterCurve> curves;
  std::vector<Friction> frictions;
};

struct NetworkState {
  std::vector<double> head_m;         ///< of each node; a dry node has its elevation
  std::vector<double> flow_m3_s;      ///< of each pipe
  std::vector<double> discharge_lph;  ///< of each outlet
  std::vector<char> dry;              ///< node that only shut pipes connect to a fixed head
  double inflow_m3_s = 0;             ///< sum over the fixed heads
  int iterations = 0;
  double imbalance_frac = 0;  ///< largest imbalance of a node over the inflow

  double pressure_kpa(const Network& network, int node) const;
};

class NetworkSolver {
 public:
  /// Checks the network and analyses its pattern. Throws InputError "zone_not_fed" if nodes are
  /// not connected to any fixed head even with all pipes open (names their number), "bad_network"
  /// for indices, lengths, diameters or values that make no sense.
  explicit NetworkSolver(const Network& network);
  ~NetworkSolver();
  NetworkSolver(NetworkSolver&&) noexcept;
  NetworkSolver& operator=(NetworkSolver&&) noexcept;

  /// Solves a network with the nodes and pipes (from, to) given to the constructor; everything else
  /// may differ. Mass balance at every node within 1e-9 of the inflow, energy balance of every pipe
  /// within 1e-9 of the head of the inlet. `start` (may be null): the state of a similar network,
  /// to begin from; one of another size is not used. Throws InputError "no_steady_flow" when it
  /// does not converge: nothing is returned half-solved. (With FrictionLaw::laminar_blasius there
  /// may be none: a pipe whose flow would have to stand in the jump at Re 2000.) Throws the
  /// constructor's errors as well, std::invalid_argument for other pipes. Safe from many threads.
  NetworkState solve(const Network& network, const NetworkState* start = nullptr) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Once, without keeping the analysis.
NetworkState solve_network(const Network& network);

}  // namespace evendrip
