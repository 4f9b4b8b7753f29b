// SPDX-License-Identifier: Apache-2.0
#include "network_newton.hpp"

#include "evendrip/hydraulics/water.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace evendrip {
namespace {

// Ten times tighter than what is promised.
constexpr double node_tolerance_frac = 1e-10;    // of the inflow
constexpr double pipe_tolerance_frac = 1e-10;    // of the range of heads
constexpr double correction_tolerance_m = 3e-5;  // of the last step; the next one is its square
constexpr double least_inflow_m3_s = 1e-12;
constexpr int first_iterations = 12;
constexpr int approach_iterations = 40;
constexpr double near_enough_m = 1e-4;  ///< last step of an approach
constexpr int most_iterations = 200;
constexpr double still_pressure_m =
    1e-3;  ///< below it an outlet that approaches is a straight line
constexpr int most_halvings = 12;
constexpr double stirring_m_s = 0.03;
constexpr double m3_s_per_lph = 1 / 3.6e6;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

bool same_loss(const Pipe& a, const Pipe& b) {
  return a.friction == b.friction && a.length_m == b.length_m && a.diameter_m == b.diameter_m &&
         a.minor_k == b.minor_k;
}

/// A pipe in which nothing flows yet, the one that closes a loop, hardly resists: the first step
/// takes it as it is at this flow, lest all the loop rush through it.
double stirring_flow(const Pipe& pipe) {
  return stirring_m_s * std::numbers::pi / 4 * pipe.diameter_m * pipe.diameter_m;
}

/// A power of the pressure throughout.
bool can_approach(const EmitterCurve& curve) {
  return curve.compensating_to_kpa <= 0 && curve.exponent > 0;
}

}  // namespace

NetworkNewton::NetworkNewton(const Network& network, const NetworkElimination& order,
                             const FeedingForest& forest)
    : network_(network), forest_(forest), system_(order) {
  const std::size_t nodes = network.elevation_m.size();
  const std::size_t pipes = network.pipes.size();
  open_.reserve(pipes);
  loss_of_.reserve(pipes);
  for (std::size_t i = 0; i < pipes; ++i) {
    const Pipe& pipe = network.pipes[i];
    open_.push_back(!pipe.shut && forest.reached[at(pipe.from)] && forest.reached[at(pipe.to)]);
    if (i == 0 || !same_loss(pipe, network.pipes[i - 1]))
      losses_.emplace_back(network.frictions[at(pipe.friction)], pipe.length_m, pipe.diameter_m,
                           pipe.minor_k);
    loss_of_.push_back(static_cast<int>(losses_.size()) - 1);
  }
  fixed_.assign(nodes, 0);
  for (const FixedHead& fixed : network.fixed_heads) {
    fixed_[at(fixed.node)] = 1;
    system_.fix(fixed.node);
  }
  const std::vector<double> still(network.outlets.size(), 0);
  point_ = {network.elevation_m, std::vector<double>(pipes, 0), still};
  step_ = {std::vector<double>(nodes, 0), std::vector<double>(pipes, 0), still};
  residuals_.outlet_m = still;
  residuals_.outlet_slope = still;
  residuals_.node_m3_s.resize(nodes);
  residuals_.node_slope.resize(nodes);
  residuals_.pipe_m.resize(pipes);
  residuals_.pipe_slope.resize(pipes);
  for (const FixedHead& fixed : network.fixed_heads) {
    point_.head_m[at(fixed.node)] = fixed.head_m;
    const double above = fixed.head_m - network.elevation_m[at(fixed.node)];
    head_scale_m_ = std::max(head_scale_m_, std::abs(above));
  }
}

void NetworkNewton::start_from_trees() {
  std::vector<double>& head = point_.head_m;
  std::vector<double>& flow = point_.flow_m3_s;
  const auto feeder = [this](int node) { return at(forest_.feeding_pipe[at(node)]); };
  const auto parent_of = [](int node, const Pipe& pipe) {
    return pipe.from == node ? pipe.to : pipe.from;
  };
  for (const int node : forest_.order)
    if (!fixed_[at(node)]) head[at(node)] = head[at(parent_of(node, network_.pipes[feeder(node)]))];
  std::vector<double> through(head.size(), 0);
  for (const Outlet& outlet : network_.outlets) through[at(outlet.node)] += discharge_m3_s(outlet);
  for (const FixedOutflow& outflow : network_.outflows)
    through[at(outflow.node)] += outflow.flow_m3_s;
  for (auto node = forest_.order.rbegin(); node != forest_.order.rend(); ++node) {
    if (fixed_[at(*node)]) continue;
    const Pipe& pipe = network_.pipes[feeder(*node)];
    through[at(parent_of(*node, pipe))] += through[at(*node)];
    flow[feeder(*node)] = pipe.to == *node ? through[at(*node)] : -through[at(*node)];
  }
  for (const int node : forest_.order) {
    if (fixed_[at(node)]) continue;
    const Pipe& pipe = network_.pipes[feeder(node)];
    const double loss = losses_[at(loss_of_[feeder(node)])].at(through[at(node)]).head_m;
    head[at(node)] = head[at(parent_of(node, pipe))] - loss;
  }
}

void NetworkNewton::start_from(const NetworkState& state) {
  for (const int node : forest_.order)
    if (!fixed_[at(node)]) point_.head_m[at(node)] = state.head_m[at(node)];
  for (std::size_t i = 0; i < open_.size(); ++i)
    point_.flow_m3_s[i] = open_[i] ? state.flow_m3_s[i] : 0;
}

void NetworkNewton::evaluate() {
  std::fill(residuals_.node_m3_s.begin(), residuals_.node_m3_s.end(), 0.0);
  std::fill(residuals_.node_slope.begin(), residuals_.node_slope.end(), 0.0);
  add_pipes();
  add_outlets();
  weigh();
}

void NetworkNewton::add_pipes() {
  residuals_.largest_pipe_m = 0;
  for (std::size_t i = 0; i < open_.size(); ++i) {
    residuals_.pipe_m[i] = 0;
    residuals_.pipe_slope[i] = 0;
    if (!open_[i]) continue;
    const Pipe& pipe = network_.pipes[i];
    const double flow = point_.flow_m3_s[i];
    const HeadLoss loss = losses_[at(loss_of_[i])].at(flow);
    const double fall = point_.head_m[at(pipe.from)] - point_.head_m[at(pipe.to)];
    residuals_.pipe_m[i] = loss.head_m - fall;
    residuals_.pipe_slope[i] = loss.slope_s_m2;
    if (flow == 0 && iterations_ == 0)
      residuals_.pipe_slope[i] = losses_[at(loss_of_[i])].at(stirring_flow(pipe)).slope_s_m2;
    residuals_.node_m3_s[at(pipe.from)] -= flow;
    residuals_.node_m3_s[at(pipe.to)] += flow;
    residuals_.largest_pipe_m = std::max(residuals_.largest_pipe_m, std::abs(loss.head_m - fall));
  }
}

void NetworkNewton::add_outlets() {
  std::fill(residuals_.outlet_slope.begin(), residuals_.outlet_slope.end(), 0.0);
  for (std::size_t i = 0; i < network_.outlets.size(); ++i) {
    const Outlet& outlet = network_.outlets[i];
    const std::size_t node = at(outlet.node);
    if (!forest_.reached[node]) continue;
    const EmitterCurve& curve = network_.curves[at(outlet.curve)];
    const double per_lph = outlet.factor * m3_s_per_lph;
    if (form_ == Outlets::approach && can_approach(curve) && per_lph > 0) {
      approach_outlet(i, per_lph);
      continue;
    }
    const double kpa = pressure_kpa(point_.head_m[node] - network_.elevation_m[node]);
    const Discharge discharge = discharge_at(curve, kpa);
    residuals_.node_m3_s[node] -= per_lph * discharge.lph;
    residuals_.node_slope[node] += per_lph * kpa_per_m * discharge.slope_lph_kpa;
  }
  for (const FixedOutflow& outflow : network_.outflows)
    if (forest_.reached[at(outflow.node)])
      residuals_.node_m3_s[at(outflow.node)] -= outflow.flow_m3_s;
}

void NetworkNewton::approach_outlet(std::size_t i, double per_lph) {
  const Outlet& outlet = network_.outlets[i];
  const std::size_t node = at(outlet.node);
  const double pressure_m = point_.head_m[node] - network_.elevation_m[node];
  if (point_.outlet_m3_s[i] <= 0) point_.outlet_m3_s[i] = discharge_m3_s(outlet);
  const double flow = point_.outlet_m3_s[i];
  if (flow <= 0) return;
  const EmitterCurve& curve = network_.curves[at(outlet.curve)];
  const double still_flow = per_lph * discharge_lph(curve, pressure_kpa(still_pressure_m));
  double asked_m = still_pressure_m * flow / still_flow;
  double slope = still_pressure_m / still_flow;
  if (flow > still_flow) {
    asked_m = still_pressure_m * std::pow(flow / still_flow, 1 / curve.exponent);
    slope = asked_m / (flow * curve.exponent);
  }
  residuals_.node_m3_s[node] -= flow;
  residuals_.node_slope[node] += 1 / slope;
  residuals_.outlet_m[i] = asked_m - pressure_m;
  residuals_.outlet_slope[i] = slope;
}

void NetworkNewton::weigh() {
  double nodes = 0;
  double pipes = 0;
  residuals_.inflow_m3_s = 0;
  residuals_.largest_node_m3_s = 0;
  for (std::size_t i = 0; i < fixed_.size(); ++i) {
    const double rest = residuals_.node_m3_s[i];
    if (fixed_[i]) {
      residuals_.inflow_m3_s += std::max(0.0, -rest);
      continue;
    }
    nodes += rest * rest;
    residuals_.largest_node_m3_s = std::max(residuals_.largest_node_m3_s, std::abs(rest));
  }
  for (const double rest : residuals_.pipe_m) pipes += rest * rest;
  for (std::size_t i = 0; i < residuals_.outlet_m.size(); ++i)
    if (residuals_.outlet_slope[i] > 0) pipes += residuals_.outlet_m[i] * residuals_.outlet_m[i];
  residuals_.merit = nodes / (flow_scale_m3_s_ * flow_scale_m3_s_) + pipes;
}

void NetworkNewton::solve_step() {
  system_.clear();
  std::vector<double>& right = residuals_.node_m3_s;
  for (std::size_t i = 0; i < open_.size(); ++i) {
    if (!open_[i]) continue;
    const Pipe& pipe = network_.pipes[i];
    const double g = 1 / residuals_.pipe_slope[i];
    system_.add_conductance(static_cast<int>(i), g);
    right[at(pipe.from)] += g * residuals_.pipe_m[i];
    right[at(pipe.to)] -= g * residuals_.pipe_m[i];
  }
  for (std::size_t i = 0; i < network_.outlets.size(); ++i)
    if (residuals_.outlet_slope[i] > 0)
      right[at(network_.outlets[i].node)] += residuals_.outlet_m[i] / residuals_.outlet_slope[i];
  for (std::size_t i = 0; i < fixed_.size(); ++i) {
    const bool wet = forest_.reached[i] != 0;
    system_.set_ground(static_cast<int>(i), wet ? residuals_.node_slope[i] : 1);
    system_.set_right_side(static_cast<int>(i), wet ? right[i] : 0);
  }
  const std::vector<double>& correction = system_.solve();
  std::copy_n(correction.begin(), step_.head_m.size(), step_.head_m.begin());
  for (std::size_t i = 0; i < open_.size(); ++i) {
    const Pipe& pipe = network_.pipes[i];
    const double fall = correction[at(pipe.from)] - correction[at(pipe.to)];
    step_.flow_m3_s[i] = open_[i] ? (fall - residuals_.pipe_m[i]) / residuals_.pipe_slope[i] : 0;
  }
  for (std::size_t i = 0; i < network_.outlets.size(); ++i) {
    const double slope = residuals_.outlet_slope[i];
    const double rise = correction[at(network_.outlets[i].node)];
    step_.outlet_m3_s[i] = slope > 0 ? (rise - residuals_.outlet_m[i]) / slope : 0;
  }
}

/// Goes part of the step; how far the residuals are then.
double NetworkNewton::move(const Point& from, double part) {
  for (std::size_t i = 0; i < from.head_m.size(); ++i)
    point_.head_m[i] = from.head_m[i] + part * step_.head_m[i];
  for (std::size_t i = 0; i < from.flow_m3_s.size(); ++i)
    point_.flow_m3_s[i] = from.flow_m3_s[i] + part * step_.flow_m3_s[i];
  for (std::size_t i = 0; i < from.outlet_m3_s.size(); ++i)
    point_.outlet_m3_s[i] = std::max(0.0, from.outlet_m3_s[i] + part * step_.outlet_m3_s[i]);
  evaluate();
  return residuals_.merit;
}

bool NetworkNewton::balanced() const {
  const double inflow = std::max(residuals_.inflow_m3_s, least_inflow_m3_s);
  return last_correction_m_ <= correction_tolerance_m &&
         residuals_.largest_node_m3_s <= node_tolerance_frac * inflow &&
         residuals_.largest_pipe_m <= pipe_tolerance_frac * head_scale_m_;
}

double NetworkNewton::discharge_m3_s(const Outlet& outlet) const {
  const std::size_t node = at(outlet.node);
  if (!forest_.reached[node]) return 0;
  const double kpa = pressure_kpa(point_.head_m[node] - network_.elevation_m[node]);
  return outlet.factor * m3_s_per_lph * discharge_lph(network_.curves[at(outlet.curve)], kpa);
}

bool NetworkNewton::converge() {
  iterations_ = 0;
  if (iterate(Outlets::follow, first_iterations, Damping::give_up)) return true;
  for (std::size_t i = 0; i < network_.outlets.size(); ++i)
    point_.outlet_m3_s[i] = discharge_m3_s(network_.outlets[i]);
  iterate(Outlets::approach, approach_iterations, Damping::none);
  return iterate(Outlets::follow, most_iterations, Damping::halve);
}

bool NetworkNewton::iterate(Outlets form, int most, Damping damping) {
  form_ = form;
  flow_scale_m3_s_ = 1;
  evaluate();
  const auto wet = static_cast<double>(forest_.order.size());
  flow_scale_m3_s_ = std::max(residuals_.inflow_m3_s, least_inflow_m3_s) / std::max(wet, 1.0);
  weigh();
  for (int i = 0; i < most; ++i) {
    ++iterations_;
    const double merit = residuals_.merit;
    solve_step();
    last_correction_m_ = 0;
    for (const double correction : step_.head_m)
      last_correction_m_ = std::max(last_correction_m_, std::abs(correction));
    const Point from = point_;
    double part = 1;
    double reached = move(from, part);
    const auto worse = [&] { return reached > (1 - 1e-4 * part) * merit && !balanced(); };
    if (damping == Damping::give_up && worse()) return false;
    for (int k = 0; damping == Damping::halve && k < most_halvings && worse(); ++k) {
      part /= 2;
      reached = move(from, part);
    }
    if (!std::isfinite(residuals_.merit)) return false;
    if (part == 1 && balanced()) return true;
    if (form == Outlets::approach && last_correction_m_ < near_enough_m) return true;
  }
  return false;
}

NetworkState NetworkNewton::state() const {
  NetworkState state;
  state.head_m = point_.head_m;
  state.flow_m3_s = point_.flow_m3_s;
  state.dry.resize(fixed_.size());
  for (std::size_t i = 0; i < fixed_.size(); ++i) state.dry[i] = !forest_.reached[i];
  for (const Outlet& outlet : network_.outlets) {
    const std::size_t node = at(outlet.node);
    const double kpa = pressure_kpa(point_.head_m[node] - network_.elevation_m[node]);
    state.discharge_lph.push_back(forest_.reached[node]
                                      ? outlet.factor *
                                            discharge_lph(network_.curves[at(outlet.curve)], kpa)
                                      : 0);
  }
  for (std::size_t i = 0; i < fixed_.size(); ++i)
    if (fixed_[i]) state.inflow_m3_s -= residuals_.node_m3_s[i];
  state.iterations = iterations_;
  state.imbalance_frac =
      residuals_.largest_node_m3_s / std::max(residuals_.inflow_m3_s, least_inflow_m3_s);
  return state;
}

}  // namespace evendrip
