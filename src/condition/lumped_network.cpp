// SPDX-License-Identifier: Apache-2.0
#include "lumped_network.hpp"

#include <utility>
#include <vector>

namespace evendrip {
namespace {

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Emitters first to last of a lateral that act together.
struct Lump {
  int first = 0;
  int last = 0;
};

class Lumping {
 public:
  Lumping(const SegmentGrid& grid, const ZoneNetwork& fine) : grid_(grid), fine_(fine) {
    out_.zone = fine.zone;
    out_.elevation_sd_m = fine.elevation_sd_m;
    out_.network.curves = fine.network.curves;
    out_.network.frictions = fine.network.frictions;
  }

  ZoneNetwork take() {
    keep_nodes();
    keep_pipes();
    for (const NetworkLateral& lateral : fine_.laterals) lay_lateral(lateral);
    for (const NetworkSection& section : fine_.sections)
      out_.sections.push_back(
          {section.manifold, new_pipe_[at(section.pipe)], section.from_m, section.to_m});
    for (const NetworkPort& port : fine_.ports)
      out_.ports.push_back({port.port, new_node_[at(port.node)]});
    for (const FixedHead& fixed : fine_.network.fixed_heads)
      out_.network.fixed_heads.push_back({new_node_[at(fixed.node)], fixed.head_m});
    for (const FixedOutflow& flow : fine_.network.outflows)
      out_.network.outflows.push_back({new_node_[at(flow.node)], flow.flow_m3_s});
    out_.inlet_node = new_node_[at(fine_.inlet_node)];
    return std::move(out_);
  }

 private:
  int add_node(double elevation_m) {
    out_.network.elevation_m.push_back(elevation_m);
    return static_cast<int>(out_.network.elevation_m.size()) - 1;
  }

  /// All but those of emitters.
  void keep_nodes() {
    const std::size_t nodes = fine_.network.elevation_m.size();
    std::vector<char> of_emitter(nodes, 0);
    for (const NetworkLateral& lateral : fine_.laterals)
      for (std::size_t i = 1; i + 1 < lateral.nodes.size(); ++i)
        of_emitter[at(lateral.nodes[i])] = 1;
    new_node_.assign(nodes, -1);
    for (std::size_t node = 0; node < nodes; ++node)
      if (of_emitter[node] == 0) new_node_[node] = add_node(fine_.network.elevation_m[node]);
  }

  /// All but those of laterals.
  void keep_pipes() {
    std::vector<char> of_lateral(fine_.network.pipes.size(), 0);
    for (const NetworkLateral& lateral : fine_.laterals)
      for (std::size_t i = 0; i + 1 < lateral.nodes.size(); ++i)
        of_lateral[at(lateral.first_pipe) + i] = 1;
    new_pipe_.assign(fine_.network.pipes.size(), -1);
    for (std::size_t i = 0; i < fine_.network.pipes.size(); ++i) {
      if (of_lateral[i] != 0) continue;
      Pipe pipe = fine_.network.pipes[i];
      pipe.from = new_node_[at(pipe.from)];
      pipe.to = new_node_[at(pipe.to)];
      new_pipe_[i] = static_cast<int>(out_.network.pipes.size());
      out_.network.pipes.push_back(pipe);
    }
  }

  std::vector<Lump> lumps_of(const NetworkLateral& lateral) const {
    std::vector<Lump> lumps;
    int last_segment = -1;
    for (int i = 0; i < lateral.emitters; ++i) {
      const int segment = grid_.station_of(lateral.stations_m[at(i) + 1]);
      if (segment != last_segment) lumps.push_back({i, i});
      lumps.back().last = i;
      last_segment = segment;
    }
    return lumps;
  }

  /// Length of pipe from the joint to every node.
  std::vector<double> passed_m(const NetworkLateral& lateral) const {
    std::vector<double> passed{0};
    for (std::size_t i = 0; i + 1 < lateral.nodes.size(); ++i)
      passed.push_back(passed.back() + fine_.network.pipes[at(lateral.first_pipe) + i].length_m);
    return passed;
  }

  void lay_lateral(const NetworkLateral& lateral) {
    const std::vector<double> passed = passed_m(lateral);
    NetworkLateral laid;
    laid.lateral = lateral.lateral;
    laid.join_distance_m = lateral.join_distance_m;
    laid.first_outlet = static_cast<int>(out_.network.outlets.size());
    laid.first_pipe = static_cast<int>(out_.network.pipes.size());
    laid.nodes = {new_node_[at(lateral.nodes.front())]};
    laid.stations_m = {lateral.stations_m.front()};
    std::vector<double> places{0};
    for (const Lump& lump : lumps_of(lateral)) {
      places.push_back(lay_lump(lateral, passed, lump, laid));
      ++laid.emitters;
    }
    laid.nodes.push_back(new_node_[at(lateral.nodes.back())]);
    laid.stations_m.push_back(lateral.stations_m.back());
    places.push_back(passed.back());
    lay_pipes(lateral, places, laid);
    out_.laterals.push_back(std::move(laid));
  }

  /// Its place along the pipe.
  double lay_lump(const NetworkLateral& lateral, const std::vector<double>& passed,
                  const Lump& lump, NetworkLateral& laid) {
    const double share = 1.0 / (lump.last - lump.first + 1);
    Outlet outlet = fine_.network.outlets[at(lateral.first_outlet + lump.first)];
    outlet.factor = 0;
    double station_m = 0;
    double place_m = 0;
    double elevation_m = 0;
    for (int i = lump.first; i <= lump.last; ++i) {
      station_m += share * lateral.stations_m[at(i) + 1];
      place_m += share * passed[at(i) + 1];
      elevation_m += share * fine_.network.elevation_m[at(lateral.nodes[at(i) + 1])];
      outlet.factor += fine_.network.outlets[at(lateral.first_outlet + i)].factor;
    }
    outlet.node = add_node(elevation_m);
    for (int i = lump.first; i <= lump.last; ++i)
      new_node_[at(lateral.nodes[at(i) + 1])] = outlet.node;
    out_.network.outlets.push_back(outlet);
    laid.nodes.push_back(outlet.node);
    laid.stations_m.push_back(station_m);
    return place_m;
  }

  void lay_pipes(const NetworkLateral& lateral, const std::vector<double>& places,
                 const NetworkLateral& laid) {
    const auto pipe_of = [&](std::size_t i) {
      return fine_.network.pipes[at(lateral.first_pipe) + i];
    };
    const std::size_t last = lateral.nodes.size() - 2;
    for (std::size_t i = 0; i + 1 < laid.nodes.size(); ++i) {
      Pipe pipe = pipe_of(0);
      pipe.from = laid.nodes[i];
      pipe.to = laid.nodes[i + 1];
      pipe.length_m = places[i + 1] - places[i];
      // Minor losses belong to the joints at both ends.
      if (i > 0) pipe.minor_k = 0;
      if (i + 2 == laid.nodes.size() && last > 0) pipe.minor_k += pipe_of(last).minor_k;
      out_.network.pipes.push_back(pipe);
    }
  }

  const SegmentGrid& grid_;
  const ZoneNetwork& fine_;
  ZoneNetwork out_;
  std::vector<int> new_node_;  ///< by old one
  std::vector<int> new_pipe_;  ///< by old one; -1 for those of laterals
};

}  // namespace

ZoneNetwork lumped_network(const SegmentGrid& grid, const ZoneNetwork& fine) {
  return Lumping(grid, fine).take();
}

}  // namespace evendrip
