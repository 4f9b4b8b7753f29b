// SPDX-License-Identifier: Apache-2.0
#include "network_graph.hpp"

#include "evendrip/base/error.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstddef>
#include <string>

namespace evendrip {
namespace {

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

[[noreturn]] void refuse(const std::string& text, double found, const std::string& expected) {
  Doubt doubt;
  doubt.code = "bad_network";
  doubt.text = text;
  doubt.found = fmt::format("{:.6g}", found);
  doubt.expected = expected;
  doubt.remedy = "Correct the lines, diameters and emitters of the zone";
  throw InputError(doubt);
}

void require_index(int index, std::size_t count, const char* what, std::size_t number,
                   const char* of) {
  if (index >= 0 && at(index) < count) return;
  refuse(fmt::format("{} {} names a {} that is not there", what, number, of), index,
         fmt::format("0 to {}", static_cast<long>(count) - 1));
}

void require(bool good, const char* what, std::size_t number, const char* quantity, double found,
             const char* expected) {
  if (good) return;
  refuse(fmt::format("{} {} has a {} that makes no sense", what, number, quantity), found,
         expected);
}

bool is_positive(double value) {
  return std::isfinite(value) && value > 0;
}

void check_pipes(const Network& network) {
  const std::size_t nodes = network.elevation_m.size();
  for (std::size_t i = 0; i < network.pipes.size(); ++i) {
    const Pipe& pipe = network.pipes[i];
    require_index(pipe.from, nodes, "pipe", i, "node");
    require_index(pipe.to, nodes, "pipe", i, "node");
    require_index(pipe.friction, network.frictions.size(), "pipe", i, "friction");
    require(pipe.from != pipe.to, "pipe", i, "second end", pipe.to, "another node than its first");
    require(is_positive(pipe.length_m), "pipe", i, "length in m", pipe.length_m, "above 0");
    require(is_positive(pipe.diameter_m), "pipe", i, "diameter in m", pipe.diameter_m, "above 0");
    require(std::isfinite(pipe.minor_k) && pipe.minor_k >= 0, "pipe", i, "minor loss", pipe.minor_k,
            "0 or more");
  }
}

void check_flows(const Network& network) {
  const std::size_t nodes = network.elevation_m.size();
  for (std::size_t i = 0; i < network.outlets.size(); ++i) {
    const Outlet& outlet = network.outlets[i];
    require_index(outlet.node, nodes, "outlet", i, "node");
    require_index(outlet.curve, network.curves.size(), "outlet", i, "curve");
    require(std::isfinite(outlet.factor) && outlet.factor >= 0, "outlet", i, "factor",
            outlet.factor, "0 or more");
  }
  for (std::size_t i = 0; i < network.fixed_heads.size(); ++i) {
    const FixedHead& fixed = network.fixed_heads[i];
    require_index(fixed.node, nodes, "fixed head", i, "node");
    require(std::isfinite(fixed.head_m), "fixed head", i, "head in m", fixed.head_m, "a number");
  }
  for (std::size_t i = 0; i < network.outflows.size(); ++i) {
    const FixedOutflow& outflow = network.outflows[i];
    require_index(outflow.node, nodes, "outflow", i, "node");
    require(std::isfinite(outflow.flow_m3_s), "outflow", i, "flow in m3/s", outflow.flow_m3_s,
            "a number");
  }
}

void check_laws(const Network& network) {
  for (std::size_t i = 0; i < network.curves.size(); ++i) {
    const EmitterCurve& curve = network.curves[i];
    require(is_positive(curve.rated_lph), "curve", i, "discharge in L/h", curve.rated_lph,
            "above 0");
    require(is_positive(curve.rated_kpa), "curve", i, "pressure in kPa", curve.rated_kpa,
            "above 0");
    require(curve.exponent >= 0 && curve.exponent <= 1, "curve", i, "exponent", curve.exponent,
            "0 to 1");
  }
  for (std::size_t i = 0; i < network.frictions.size(); ++i) {
    const Friction& friction = network.frictions[i];
    require(is_positive(friction.viscosity_m2_s), "friction", i, "viscosity in m2/s",
            friction.viscosity_m2_s, "above 0");
    require(is_positive(friction.hazen_williams_c), "friction", i, "Hazen-Williams C",
            friction.hazen_williams_c, "above 0");
    require(std::isfinite(friction.roughness_mm) && friction.roughness_mm >= 0, "friction", i,
            "roughness in mm", friction.roughness_mm, "0 or more");
    require(is_positive(friction.multiplier), "friction", i, "multiplier", friction.multiplier,
            "above 0");
  }
}

}  // namespace

void check_network(const Network& network) {
  for (std::size_t i = 0; i < network.elevation_m.size(); ++i)
    require(std::isfinite(network.elevation_m[i]), "node", i, "elevation in m",
            network.elevation_m[i], "a number");
  check_pipes(network);
  check_flows(network);
  check_laws(network);
}

NetworkGraph::NetworkGraph(const Network& network)
    : first_(network.elevation_m.size() + 1, 0), pipes_(2 * network.pipes.size()) {
  for (const Pipe& pipe : network.pipes) {
    ++first_[at(pipe.from) + 1];
    ++first_[at(pipe.to) + 1];
  }
  for (std::size_t i = 1; i < first_.size(); ++i) first_[i] += first_[i - 1];
  std::vector<int> next(first_.begin(), first_.end() - 1);
  for (std::size_t i = 0; i < network.pipes.size(); ++i) {
    pipes_[at(next[at(network.pipes[i].from)]++)] = static_cast<int>(i);
    pipes_[at(next[at(network.pipes[i].to)]++)] = static_cast<int>(i);
  }
}

FeedingForest NetworkGraph::forest(const Network& network, ShutPipes shut) const {
  const std::size_t nodes = network.elevation_m.size();
  FeedingForest forest{{}, std::vector<int>(nodes, -1), std::vector<char>(nodes, 0)};
  forest.order.reserve(nodes);
  for (const FixedHead& fixed : network.fixed_heads) {
    if (forest.reached[at(fixed.node)]) continue;
    forest.reached[at(fixed.node)] = 1;
    forest.order.push_back(fixed.node);
  }
  for (std::size_t i = 0; i < forest.order.size(); ++i) {
    const int node = forest.order[i];
    for (int k = first_[at(node)]; k < first_[at(node) + 1]; ++k) {
      const Pipe& pipe = network.pipes[at(pipes_[at(k)])];
      if (pipe.shut && shut == ShutPipes::stop) continue;
      const int other = pipe.from == node ? pipe.to : pipe.from;
      if (forest.reached[at(other)]) continue;
      forest.reached[at(other)] = 1;
      forest.feeding_pipe[at(other)] = pipes_[at(k)];
      forest.order.push_back(other);
    }
  }
  return forest;
}

}  // namespace evendrip
