// SPDX-License-Identifier: Apache-2.0
// Faults and open ends put into the network of a zone.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

#include "evendrip/hydraulics/zone_network.hpp"

namespace evendrip {
namespace {

/// A station this near to a node is at the node.
constexpr double at_node_m = 0.001;

double bore_area_m2(double diameter_m) {
  return std::numbers::pi / 4 * diameter_m * diameter_m;
}

/// Borda-Carnot behind a contraction to the open share `a` of the bore, Weisbach's coefficient of
/// contraction 0.62 + 0.38 a^3; on v^2/2g of the full bore.
double pinch_k(double lost_share) {
  const double open = 1 - lost_share;
  const double contraction = 0.62 + 0.38 * open * open * open;
  const double excess = 1 / (open * contraction) - 1;
  return excess * excess;
}

/// A pipe with the stations of its ends along the faulty line.
struct Stretch {
  int pipe = -1;
  double from_m = 0;
  double to_m = 0;
};

void check(const Fault& fault) {
  if (fault.kind == FaultKind::pinch && !(fault.severity >= 0 && fault.severity < 1))
    throw std::invalid_argument("a pinch takes 0 to below 1 of the bore");
  if (fault.kind == FaultKind::cut && !(fault.severity > 0 && std::isfinite(fault.severity)))
    throw std::invalid_argument("a cut has an area above 0");
}

class FaultyNetwork {
 public:
  explicit FaultyNetwork(const ZoneNetwork& clean) : out_(clean) {}

  ZoneNetwork take(std::span<const Fault> faults) {
    out_.outlet_of_fault.assign(faults.size(), -1);
    for (const Fault& fault : faults) check(fault);
    // Cuts first: they split pipes, and the other faults must find the part that they are in.
    for (std::size_t i = 0; i < faults.size(); ++i)
      if (faults[i].kind == FaultKind::cut) out_.outlet_of_fault[i] = cut(faults[i]);
    for (const Fault& fault : faults) {
      if (fault.kind == FaultKind::cut) continue;
      Pipe& pipe = pipe_at(stretch_at(fault).pipe);
      if (fault.kind == FaultKind::shut) {
        pipe.shut = true;
      } else {
        pipe.minor_k += pinch_k(fault.severity);
      }
    }
    return std::move(out_);
  }

 private:
  Pipe& pipe_at(int index) { return out_.network.pipes[static_cast<std::size_t>(index)]; }

  /// The stretch that holds the fault; of two that meet there the one behind.
  Stretch stretch_at(const Fault& fault) {
    const std::vector<Stretch> line =
        fault.on_lateral ? lateral_line(fault.line) : manifold_line(fault.line);
    if (line.empty()) throw std::invalid_argument("the faulty line is not in the zone");
    if (!(fault.station_m >= line.front().from_m - at_node_m &&
          fault.station_m <= line.back().to_m + at_node_m))
      throw std::invalid_argument(
          fmt::format("the fault lies outside its line: {} m, not {} to {} m", fault.station_m,
                      line.front().from_m, line.back().to_m));
    for (const Stretch& stretch : line)
      if (fault.station_m < stretch.to_m - at_node_m) return stretch;
    return line.back();
  }

  /// Pipes from a node of the clean network to the next: more than one where cuts were made.
  void add_pipes(std::vector<Stretch>& line, int first, int to_node, double from_m, double to_m) {
    std::vector<int> chain{first};
    while (pipe_at(chain.back()).to != to_node) {
      const int node = pipe_at(chain.back()).to;
      const auto next = std::find_if(out_.network.pipes.rbegin(), out_.network.pipes.rend(),
                                     [&](const Pipe& p) { return p.from == node; });
      chain.push_back(static_cast<int>(out_.network.pipes.rend() - next) - 1);
    }
    double length = 0;
    for (const int pipe : chain) length += pipe_at(pipe).length_m;
    double passed = 0;
    for (const int pipe : chain) {
      const double before = passed;
      passed += pipe_at(pipe).length_m;
      line.push_back({pipe, from_m + (to_m - from_m) * before / length,
                      from_m + (to_m - from_m) * passed / length});
    }
  }

  std::vector<Stretch> lateral_line(int lateral) {
    std::vector<Stretch> line;
    for (const NetworkLateral& laid : out_.laterals) {
      if (laid.lateral != lateral) continue;
      for (std::size_t i = 0; i + 1 < laid.nodes.size(); ++i)
        add_pipes(line, laid.first_pipe + static_cast<int>(i), laid.nodes[i + 1],
                  laid.stations_m[i], laid.stations_m[i + 1]);
    }
    return line;
  }

  std::vector<Stretch> manifold_line(int manifold) {
    std::vector<Stretch> line;
    for (const NetworkSection& section : out_.sections)
      if (section.manifold == manifold)
        line.push_back({section.pipe, section.from_m, section.to_m});
    std::sort(line.begin(), line.end(),
              [](const Stretch& a, const Stretch& b) { return a.from_m < b.from_m; });
    return line;
  }

  int cut(const Fault& fault) {
    const Stretch stretch = stretch_at(fault);
    const double area = fault.severity * bore_area_m2(pipe_at(stretch.pipe).diameter_m);
    out_.network.outlets.push_back(
        {node_at(fault, stretch), static_cast<int>(out_.network.curves.size()), 1});
    out_.network.curves.push_back(opening_curve(area));
    return static_cast<int>(out_.network.outlets.size()) - 1;
  }

  int node_at(const Fault& fault, const Stretch& stretch) {
    if (fault.station_m <= stretch.from_m + at_node_m) return pipe_at(stretch.pipe).from;
    if (fault.station_m >= stretch.to_m - at_node_m) return pipe_at(stretch.pipe).to;
    const double share = (fault.station_m - stretch.from_m) / (stretch.to_m - stretch.from_m);
    return split(stretch, share, fault);
  }

  int split(const Stretch& stretch, double share, const Fault& fault) {
    Network& network = out_.network;
    const Pipe whole = pipe_at(stretch.pipe);
    const int node = static_cast<int>(network.elevation_m.size());
    const double start = network.elevation_m[static_cast<std::size_t>(whole.from)];
    const double end = network.elevation_m[static_cast<std::size_t>(whole.to)];
    network.elevation_m.push_back(start + share * (end - start));
    Pipe rest = whole;
    rest.from = node;
    rest.length_m = whole.length_m * (1 - share);
    pipe_at(stretch.pipe).to = node;
    pipe_at(stretch.pipe).length_m = whole.length_m * share;
    // Minor losses stay at the joint that they belong to: with the first part, unless that is the
    // joint of a far end.
    const bool far_joint = is_last_of_lateral(stretch.pipe, whole.to);
    (far_joint ? pipe_at(stretch.pipe) : rest).minor_k = 0;
    network.pipes.push_back(rest);
    if (!fault.on_lateral) note_section(stretch, fault, static_cast<int>(network.pipes.size()) - 1);
    return node;
  }

  bool is_last_of_lateral(int pipe, int to) const {
    return std::any_of(out_.laterals.begin(), out_.laterals.end(), [&](const NetworkLateral& l) {
      const int last = l.first_pipe + static_cast<int>(l.nodes.size()) - 2;
      return l.nodes.back() == to && l.nodes.size() > 2 && pipe >= l.first_pipe && pipe == last;
    });
  }

  void note_section(const Stretch& stretch, const Fault& fault, int rest) {
    for (NetworkSection& section : out_.sections)
      if (section.pipe == stretch.pipe) section.to_m = fault.station_m;
    out_.sections.push_back({fault.line, rest, fault.station_m, stretch.to_m});
  }

  ZoneNetwork out_;
};

/// Nodes of flush manifolds that one stretch alone touches, with its bore.
std::vector<std::pair<int, double>> free_flush_ends(const Field& field, const ZoneNetwork& zone) {
  std::vector<int> touches(zone.network.elevation_m.size(), 0);
  std::vector<double> bore(zone.network.elevation_m.size(), 0.0);
  for (const NetworkSection& section : zone.sections) {
    if (field.manifolds[static_cast<std::size_t>(section.manifold)].supply) continue;
    const Pipe& pipe = zone.network.pipes[static_cast<std::size_t>(section.pipe)];
    for (const int node : {pipe.from, pipe.to}) {
      ++touches[static_cast<std::size_t>(node)];
      bore[static_cast<std::size_t>(node)] = pipe.diameter_m;
    }
  }
  std::vector<std::pair<int, double>> ends;
  for (std::size_t node = 0; node < touches.size(); ++node)
    if (touches[node] == 1) ends.emplace_back(static_cast<int>(node), bore[node]);
  return ends;
}

/// Nodes of the flush valves that are known, else of all free ends.
std::vector<std::pair<int, double>> flush_valves(const Field& field, const ZoneNetwork& zone) {
  std::vector<std::pair<int, double>> valves;
  for (const NetworkPort& port : zone.ports) {
    if (field.ports[static_cast<std::size_t>(port.port)].kind != "flush_end") continue;
    double bore = 0;
    for (const NetworkSection& section : zone.sections) {
      const Pipe& pipe = zone.network.pipes[static_cast<std::size_t>(section.pipe)];
      if (pipe.from == port.node || pipe.to == port.node) bore = std::max(bore, pipe.diameter_m);
    }
    if (bore > 0) valves.emplace_back(port.node, bore);
  }
  return valves.empty() ? free_flush_ends(field, zone) : valves;
}

void open_at(ZoneNetwork& zone, int node, double diameter_m) {
  constexpr double free_discharge = 1;  // the velocity head is lost
  zone.network.outlets.push_back({node, static_cast<int>(zone.network.curves.size()), 1});
  zone.network.curves.push_back(opening_curve(bore_area_m2(diameter_m), free_discharge));
}

}  // namespace

ZoneNetwork with_faults(const ZoneNetwork& clean, std::span<const Fault> faults) {
  return FaultyNetwork(clean).take(faults);
}

ZoneNetwork with_open_ends(const Field& field, const ZoneNetwork& clean,
                           std::span<const int> lateral_numbers) {
  ZoneNetwork open = clean;
  for (const int number : lateral_numbers) {
    const NetworkLateral& lateral = clean.laterals.at(static_cast<std::size_t>(number));
    const Pipe& first = clean.network.pipes[static_cast<std::size_t>(lateral.first_pipe)];
    open_at(open, lateral.nodes.back(), first.diameter_m);
  }
  if (!lateral_numbers.empty()) return open;
  const auto valves = flush_valves(field, clean);
  if (valves.empty()) throw std::invalid_argument("the zone has no flush manifold to open");
  for (const auto& [node, diameter_m] : valves) open_at(open, node, diameter_m);
  return open;
}

}  // namespace evendrip
