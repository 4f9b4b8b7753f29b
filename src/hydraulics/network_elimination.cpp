// SPDX-License-Identifier: Apache-2.0
#include "network_elimination.hpp"

#include <Eigen/SparseCholesky>

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>

namespace evendrip {
namespace {

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Neighbours of each node as linked half-edges; those of eliminated nodes fall out when met.
class Neighbours {
 public:
  Neighbours(std::size_t nodes, std::size_t pipes) : head_(nodes, -1), gone_(nodes, 0) {
    links_.reserve(2 * pipes + 2 * nodes);
  }

  /// Edge between two nodes, made if there is none.
  int edge(int a, int b) {
    const int found = find(a, b);
    if (found >= 0) return found;
    push(a, b, edges_);
    push(b, a, edges_);
    return edges_++;
  }

  void remove(int node) { gone_[at(node)] = 1; }
  bool is_gone(int node) const { return gone_[at(node)] != 0; }
  int edges() const { return edges_; }

  struct Link {
    int to = -1;
    int edge = -1;
    int next = -1;
  };

  /// Up to `count` first neighbours; sorted out on the way. The number found is returned first.
  template <std::size_t count>
  std::pair<std::size_t, std::array<Link, count>> first(int node) {
    std::array<Link, count> found;
    std::size_t n = 0;
    int* from = &head_[at(node)];
    while (*from >= 0 && n < count) {
      Link& link = links_[at(*from)];
      if (gone_[at(link.to)]) {
        *from = link.next;
        continue;
      }
      found[n++] = link;
      from = &link.next;
    }
    return {n, found};
  }

  template <typename Visit>
  void each(int node, Visit visit) const {
    for (int i = head_[at(node)]; i >= 0; i = links_[at(i)].next)
      if (!gone_[at(links_[at(i)].to)]) visit(links_[at(i)].to, links_[at(i)].edge);
  }

 private:
  void push(int node, int to, int edge) {
    links_.push_back({to, edge, head_[at(node)]});
    head_[at(node)] = static_cast<int>(links_.size()) - 1;
  }

  /// Looks from both sides in turn, so that the shorter list bounds the time.
  int find(int a, int b) {
    int* from_a = &head_[at(a)];
    int* from_b = &head_[at(b)];
    while (*from_a >= 0 && *from_b >= 0) {
      Link& link_a = links_[at(*from_a)];
      if (link_a.to == b) return link_a.edge;
      if (gone_[at(link_a.to)])
        *from_a = link_a.next;
      else
        from_a = &link_a.next;
      Link& link_b = links_[at(*from_b)];
      if (link_b.to == a) return link_b.edge;
      if (gone_[at(link_b.to)])
        *from_b = link_b.next;
      else
        from_b = &link_b.next;
    }
    return -1;
  }

  std::vector<int> head_;
  std::vector<char> gone_;
  std::vector<Link> links_;
  int edges_ = 0;
};

using Step = NetworkElimination::Step;

/// Nodes with at most two neighbours, as long as there are any.
std::vector<Step> eliminated(Neighbours& neighbours, int nodes) {
  std::vector<Step> steps;
  steps.reserve(at(nodes));
  std::vector<int> waiting(at(nodes));
  for (int i = 0; i < nodes; ++i) waiting[at(i)] = i;
  for (std::size_t i = 0; i < waiting.size(); ++i) {
    const int node = waiting[i];
    if (neighbours.is_gone(node)) continue;
    const auto [count, found] = neighbours.first<3>(node);
    if (count > 2) continue;
    Step step{node, nodes, nodes, -1, -1, -1};
    neighbours.remove(node);
    if (count > 0) {
      step.a = found[0].to;
      step.edge_a = found[0].edge;
      waiting.push_back(step.a);
    }
    if (count > 1) {
      step.b = found[1].to;
      step.edge_b = found[1].edge;
      step.edge_ab = neighbours.edge(step.a, step.b);
      waiting.push_back(step.b);
    }
    steps.push_back(step);
  }
  return steps;
}

}  // namespace

NetworkElimination::NetworkElimination(const Network& network)
    : nodes(static_cast<int>(network.elevation_m.size())) {
  Neighbours neighbours(at(nodes), network.pipes.size());
  pipe_edge.reserve(network.pipes.size());
  for (const Pipe& pipe : network.pipes) pipe_edge.push_back(neighbours.edge(pipe.from, pipe.to));
  steps = eliminated(neighbours, nodes);
  edges = neighbours.edges() + 1;
  for (Step& step : steps)
    for (int* edge : {&step.edge_a, &step.edge_b, &step.edge_ab})
      if (*edge < 0) *edge = edges - 1;
  for (int i = 0; i < nodes; ++i)
    if (!neighbours.is_gone(i)) core.push_back(i);
  for (const int node : core)
    neighbours.each(node, [&](int other, int edge) {
      if (node < other) core_edges.push_back({node, other, edge});
    });
}

struct NetworkSystem::Core {
  using Matrix = Eigen::SparseMatrix<double>;
  Matrix matrix;
  std::vector<int> row;  ///< of each node
  Eigen::VectorXd right_side;
  Eigen::SimplicialLDLT<Matrix> factor;
};

NetworkSystem::NetworkSystem(const NetworkElimination& order)
    : order_(order),
      conductance_(at(order.edges), 0),
      ground_(at(order.nodes) + 1, 0),
      value_(at(order.nodes) + 1, 0),
      fixed_(at(order.nodes) + 1, 0),
      shares_(order.steps.size()) {}

NetworkSystem::~NetworkSystem() = default;

void NetworkSystem::clear() {
  std::fill(conductance_.begin(), conductance_.end(), 0.0);
  std::fill(ground_.begin(), ground_.end(), 0.0);
  std::fill(value_.begin(), value_.end(), 0.0);
}

const std::vector<double>& NetworkSystem::solve() {
  eliminate();
  if (!order_.core.empty()) solve_core();
  substitute();
  return value_;
}

void NetworkSystem::eliminate() {
  for (std::size_t i = 0; i < shares_.size(); ++i) {
    const NetworkElimination::Step& step = order_.steps[i];
    const double g_a = conductance_[at(step.edge_a)];
    const double g_b = conductance_[at(step.edge_b)];
    if (fixed_[at(step.node)]) {
      ground_[at(step.a)] += g_a;
      ground_[at(step.b)] += g_b;
      shares_[i] = {};
      continue;
    }
    const double ground = ground_[at(step.node)];
    const double own = 1 / (ground + g_a + g_b);
    const double a = g_a * own;
    const double b = g_b * own;
    const double value = value_[at(step.node)];
    ground_[at(step.a)] += a * ground;
    ground_[at(step.b)] += b * ground;
    value_[at(step.a)] += a * value;
    value_[at(step.b)] += b * value;
    conductance_[at(step.edge_ab)] += a * g_b;
    shares_[i] = {a, b, own};
  }
}

void NetworkSystem::substitute() {
  value_.back() = 0;
  for (std::size_t i = shares_.size(); i-- > 0;) {
    const NetworkElimination::Step& step = order_.steps[i];
    const Share& share = shares_[i];
    value_[at(step.node)] = share.own * value_[at(step.node)] + share.a * value_[at(step.a)] +
                            share.b * value_[at(step.b)];
  }
}

void NetworkSystem::solve_core() {
  const auto size = static_cast<Eigen::Index>(order_.core.size());
  const bool first = !core_;
  if (first) {
    core_ = std::make_unique<Core>();
    core_->row.assign(at(order_.nodes), -1);
    for (std::size_t i = 0; i < order_.core.size(); ++i)
      core_->row[at(order_.core[i])] = static_cast<int>(i);
    core_->right_side.resize(size);
  }
  Eigen::VectorXd diagonal(size);
  for (Eigen::Index i = 0; i < size; ++i) {
    const int node = order_.core[static_cast<std::size_t>(i)];
    const bool fixed = fixed_[at(node)] != 0;
    diagonal[i] = fixed ? 1 : ground_[at(node)];
    core_->right_side[i] = fixed ? 0 : value_[at(node)];
  }
  std::vector<Eigen::Triplet<double>> entries;
  entries.reserve(order_.core_edges.size() + order_.core.size());
  for (const NetworkElimination::Edge& edge : order_.core_edges) {
    const double g = conductance_[at(edge.edge)];
    const bool joined = !fixed_[at(edge.a)] && !fixed_[at(edge.b)];
    if (!fixed_[at(edge.a)]) diagonal[core_->row[at(edge.a)]] += g;
    if (!fixed_[at(edge.b)]) diagonal[core_->row[at(edge.b)]] += g;
    entries.emplace_back(core_->row[at(edge.b)], core_->row[at(edge.a)], joined ? -g : 0.0);
  }
  for (Eigen::Index i = 0; i < size; ++i)
    entries.emplace_back(static_cast<int>(i), static_cast<int>(i), diagonal[i]);
  core_->matrix.resize(size, size);
  core_->matrix.setFromTriplets(entries.begin(), entries.end());
  if (first) core_->factor.analyzePattern(core_->matrix);
  core_->factor.factorize(core_->matrix);
  const Eigen::VectorXd x = core_->factor.solve(core_->right_side);
  for (Eigen::Index i = 0; i < size; ++i)
    value_[at(order_.core[static_cast<std::size_t>(i)])] = x[i];
}

}  // namespace evendrip
