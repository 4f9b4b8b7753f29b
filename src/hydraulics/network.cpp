// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/network.hpp"

#include "evendrip/base/error.hpp"
#include "evendrip/hydraulics/water.hpp"
#include "network_elimination.hpp"
#include "network_graph.hpp"
#include "network_newton.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstddef>
#include <stdexcept>

namespace evendrip {
namespace {

void require_fed(const FeedingForest& forest) {
  const auto dry = std::count(forest.reached.begin(), forest.reached.end(), 0);
  if (dry == 0) return;
  const auto first = std::find(forest.reached.begin(), forest.reached.end(), 0);
  Doubt doubt;
  doubt.code = "zone_not_fed";
  doubt.text = fmt::format("{} of {} nodes have no pipe to the inlet, the first is node {}", dry,
                           forest.reached.size(), first - forest.reached.begin());
  doubt.remedy = "Join their pipes to the supply manifold, or state where the water comes in";
  throw InputError(doubt);
}

InputError no_steady_flow() {
  Doubt doubt;
  doubt.code = "no_steady_flow";
  doubt.text = "no flow was found that balances at every node and along every pipe";
  doubt.remedy =
      "Look for a diameter, length or discharge of the wrong size, or for more fixed outflow than "
      "the pipes can carry";
  return InputError(doubt);
}

bool can_start(const Network& network, const FeedingForest& forest, const NetworkState* start) {
  if (!start || start->head_m.size() != network.elevation_m.size() ||
      start->flow_m3_s.size() != network.pipes.size() ||
      start->dry.size() != network.elevation_m.size())
    return false;
  for (std::size_t i = 0; i < start->dry.size(); ++i)
    if (forest.reached[i] && start->dry[i]) return false;
  return true;
}

}  // namespace

double NetworkState::pressure_kpa(const Network& network, int node) const {
  const auto i = static_cast<std::size_t>(node);
  return evendrip::pressure_kpa(head_m[i] - network.elevation_m[i]);
}

struct NetworkSolver::State {
  explicit State(const Network& network)
      : nodes(network.elevation_m.size()), graph(network), elimination(network) {
    for (const Pipe& pipe : network.pipes) ends.emplace_back(pipe.from, pipe.to);
  }

  bool fits(const Network& network) const {
    return network.elevation_m.size() == nodes &&
           std::equal(ends.begin(), ends.end(), network.pipes.begin(), network.pipes.end(),
                      [](const auto& end, const Pipe& pipe) {
                        return end.first == pipe.from && end.second == pipe.to;
                      });
  }

  std::size_t nodes;
  std::vector<std::pair<int, int>> ends;
  NetworkGraph graph;
  NetworkElimination elimination;
};

NetworkSolver::NetworkSolver(const Network& network) {
  check_network(network);
  state_ = std::make_unique<State>(network);
  require_fed(state_->graph.forest(network, ShutPipes::pass));
}

NetworkSolver::~NetworkSolver() = default;
NetworkSolver::NetworkSolver(NetworkSolver&&) noexcept = default;
NetworkSolver& NetworkSolver::operator=(NetworkSolver&&) noexcept = default;

NetworkState NetworkSolver::solve(const Network& network, const NetworkState* start) const {
  check_network(network);
  if (!state_->fits(network))
    throw std::invalid_argument("the network has other pipes than the one that was analysed");
  const FeedingForest forest = state_->graph.forest(network, ShutPipes::stop);
  if (forest.order.size() < state_->nodes)
    require_fed(state_->graph.forest(network, ShutPipes::pass));
  NetworkNewton newton(network, state_->elimination, forest);
  if (can_start(network, forest, start))
    newton.start_from(*start);
  else
    newton.start_from_trees();
  if (!newton.converge()) throw no_steady_flow();
  return newton.state();
}

NetworkState solve_network(const Network& network) {
  return NetworkSolver(network).solve(network);
}

}  // namespace evendrip
