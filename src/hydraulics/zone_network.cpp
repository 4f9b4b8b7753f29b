// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/zone_network.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <utility>

#include <fmt/format.h>

#include "doubt_places.hpp"
#include "evendrip/geo/line.hpp"
#include "evendrip/hydraulics/water.hpp"
#include "zone_plan.hpp"

namespace evendrip {
namespace {

/// Places nearer than this are one node; pipes of laterals are never shorter.
constexpr double shortest_pipe_m = 0.001;
constexpr double coldest_c = 0;
constexpr double warmest_c = 60;

enum FrictionKind { of_laterals = 0, of_manifolds = 1 };

Friction friction_of(const LateralSpec& lateral, const HydraulicOptions& options) {
  Friction friction;
  friction.law = options.law;
  friction.roughness_mm = lateral.roughness_mm;
  if (lateral.hazen_williams_c > 0) {
    friction.hazen_williams_c = lateral.hazen_williams_c;
    if (options.law == FrictionLaw::darcy_weisbach) friction.law = FrictionLaw::hazen_williams;
  }
  friction.viscosity_m2_s =
      kinematic_viscosity_m2_s(std::clamp(options.water_temperature_c, coldest_c, warmest_c));
  return friction;
}

void tell_temperature(const HydraulicOptions& options, Doubts& doubts) {
  if (options.water_temperature_c >= coldest_c && options.water_temperature_c <= warmest_c) return;
  tell_once(doubts, {"water_temperature_beyond", Severity::doubt,
                     Place{"field.toml", "[[survey]]", 0, "water_temperature"},
                     "the viscosity of the water is not known at its temperature: that of the "
                     "nearest known is taken",
                     fmt::format("{:g} C", options.water_temperature_c),
                     fmt::format("{:g} to {:g} C", coldest_c, warmest_c),
                     "Check the temperature and its unit"});
}

/// A place on a manifold that becomes a node.
struct Tap {
  int manifold = -1;
  double station_m = 0;
  int node = -1;
};

class Builder {
 public:
  Builder(const Field& field, const ZonePlan& plan, const Terrain& terrain,
          const HydraulicOptions& options, Doubts& doubts)
      : field_(field),
        plan_(plan),
        zone_(field.zones[static_cast<std::size_t>(plan.zone)]),
        terrain_(terrain),
        options_(options),
        doubts_(doubts) {
    out_.zone = plan.zone;
    out_.network.curves.push_back(curve_of(zone_.emitter));
    const Friction friction = friction_of(zone_.lateral, options);
    out_.network.frictions = {friction, friction};
  }

  ZoneNetwork build() {
    place_taps();
    merge_taps();
    lay_manifolds();
    for (std::size_t i = 0; i < plan_.laterals.size(); ++i) lay_lateral(i);
    if (lines_ > 0) out_.elevation_sd_m = std::sqrt(sd_squares_ / lines_);
    place_ports();
    for (const std::size_t tap : inlet_taps_)
      out_.network.fixed_heads.push_back({taps_[tap].node, 0});
    out_.inlet_node = out_.network.fixed_heads.front().node;
    out_.set_inlet_pressure(zone_.inlet_pressure_kpa > 0 ? zone_.inlet_pressure_kpa
                                                         : zone_.emitter.pressure_kpa);
    return std::move(out_);
  }

 private:
  std::size_t tap(const Joint& joint) {
    taps_.push_back({joint.manifold, joint.station_m, -1});
    same_.push_back(taps_.size() - 1);
    return taps_.size() - 1;
  }
  std::size_t first_of(std::size_t tap) const {
    while (same_[tap] != tap) tap = same_[tap];
    return tap;
  }
  void merge(std::size_t a, std::size_t b) {
    a = first_of(a);
    b = first_of(b);
    same_[std::max(a, b)] = std::min(a, b);
  }

  void place_taps() {
    for (const int index : plan_.manifolds) {
      const Manifold& manifold = field_.manifolds[static_cast<std::size_t>(index)];
      tap({index, 0, 0});
      tap({index, ground_length_m(field_, manifold.line), 0});
    }
    for (const Tie& tie : plan_.ties) merge(tap(tie.end), tap(tie.at));
    for (const LateralPlan& lateral : plan_.laterals) {
      supply_taps_.push_back(tap(lateral.supply));
      far_taps_.push_back(lateral.far ? tap(*lateral.far) : taps_.size());
    }
    for (const Inlet& inlet : plan_.inlets) inlet_taps_.push_back(tap(inlet.at));
    for (const PortPlan& port : plan_.ports) port_taps_.push_back(tap(port.at));
  }

  /// Taps in order along their manifolds; neighbours nearer than the shortest pipe are one.
  void merge_taps() {
    order_.resize(taps_.size());
    std::iota(order_.begin(), order_.end(), std::size_t{0});
    std::stable_sort(order_.begin(), order_.end(), [this](std::size_t a, std::size_t b) {
      return std::pair(taps_[a].manifold, taps_[a].station_m) <
             std::pair(taps_[b].manifold, taps_[b].station_m);
    });
    for (std::size_t i = 1; i < order_.size(); ++i) {
      const Tap& a = taps_[order_[i - 1]];
      const Tap& b = taps_[order_[i]];
      if (a.manifold == b.manifold && b.station_m - a.station_m < shortest_pipe_m)
        merge(order_[i - 1], order_[i]);
    }
  }

  int add_node(double elevation_m) {
    out_.network.elevation_m.push_back(elevation_m);
    return static_cast<int>(out_.network.elevation_m.size()) - 1;
  }

  ElevationProfile profile(const Line& line, const std::vector<double>& stations) {
    Doubts told;
    ElevationProfile result = terrain_.along(line, stations, told);
    for (Doubt& doubt : told) tell_once(doubts_, std::move(doubt));
    sd_squares_ += result.sd_m * result.sd_m;
    ++lines_;
    return result;
  }

  void lay_manifolds() {
    for (std::size_t begin = 0; begin < order_.size();) {
      std::size_t end = begin;
      std::vector<double> stations;
      for (; end < order_.size() && taps_[order_[end]].manifold == taps_[order_[begin]].manifold;
           ++end)
        stations.push_back(taps_[order_[end]].station_m);
      lay_manifold({order_.begin() + static_cast<std::ptrdiff_t>(begin),
                    order_.begin() + static_cast<std::ptrdiff_t>(end)},
                   stations);
      begin = end;
    }
  }

  void lay_manifold(const std::vector<std::size_t>& taps, const std::vector<double>& stations) {
    const int index = taps_[taps.front()].manifold;
    const Manifold& manifold = field_.manifolds[static_cast<std::size_t>(index)];
    const ElevationProfile heights = profile(manifold.line, stations);
    std::size_t before = taps.size();
    for (std::size_t i = 0; i < taps.size(); ++i) {
      Tap& first = taps_[first_of(taps[i])];
      if (first.node < 0) first.node = add_node(heights.elevation_m[i]);
      taps_[taps[i]].node = first.node;
      if (before < taps.size() && taps_[taps[before]].node != first.node)
        lay_section(index, manifold, taps_[taps[before]], {index, stations[i], first.node});
      if (before == taps.size() || taps_[taps[before]].node != first.node) before = i;
    }
  }

  void lay_section(int index, const Manifold& manifold, const Tap& from, const Tap& to) {
    const double length = std::max(shortest_pipe_m, to.station_m - from.station_m);
    out_.sections.push_back(
        {index, static_cast<int>(out_.network.pipes.size()), from.station_m, to.station_m});
    out_.network.pipes.push_back(
        {from.node, to.node, length, manifold.inside_diameter_mm / 1000, 0, of_manifolds, false});
  }

  /// Node of a joint of another manifold that was merged into this one may come first.
  int node_of(std::size_t tap) const { return taps_[first_of(tap)].node; }

  void lay_lateral(std::size_t i) {
    const LateralPlan& plan = plan_.laterals[i];
    const Lateral& lateral = field_.laterals[static_cast<std::size_t>(plan.lateral)];
    NetworkLateral laid;
    laid.lateral = plan.lateral;
    laid.emitters = lateral.emitters;
    laid.first_outlet = static_cast<int>(out_.network.outlets.size());
    laid.first_pipe = static_cast<int>(out_.network.pipes.size());
    laid.join_distance_m = plan.supply.distance_m;
    laid.stations_m.push_back(0);
    for (int e = 1; e <= lateral.emitters; ++e)
      laid.stations_m.push_back(std::min(emitter_station_m(zone_.emitter, e), lateral.length_m));
    laid.stations_m.push_back(lateral.length_m);
    const ElevationProfile heights = profile(lateral.line, laid.stations_m);
    laid.nodes.push_back(node_of(supply_taps_[i]));
    for (std::size_t n = 1; n + 1 < laid.stations_m.size(); ++n) {
      laid.nodes.push_back(add_node(heights.elevation_m[n]));
      out_.network.outlets.push_back({laid.nodes.back(), 0, 1});
    }
    // A line without emitters whose ends share a joint would be a pipe from a node to itself.
    const bool joined =
        plan.far && (lateral.emitters > 0 || node_of(far_taps_[i]) != laid.nodes.front());
    laid.nodes.push_back(joined ? node_of(far_taps_[i]) : add_node(heights.elevation_m.back()));
    lay_lateral_pipes(plan, laid);
    out_.laterals.push_back(std::move(laid));
  }

  void lay_lateral_pipes(const LateralPlan& plan, const NetworkLateral& laid) {
    const std::size_t count = laid.nodes.size() - 1;
    for (std::size_t p = 0; p < count; ++p) {
      Pipe pipe;
      pipe.from = laid.nodes[p];
      pipe.to = laid.nodes[p + 1];
      pipe.length_m = laid.stations_m[p + 1] - laid.stations_m[p];
      // Each emitter hinders what passes it: the loss belongs to the pipe behind it.
      if (p > 0) pipe.length_m += zone_.emitter.connection_loss_m;
      if (p == 0) pipe.length_m += plan.supply.distance_m;
      if (p + 1 == count && plan.far) pipe.length_m += plan.far->distance_m;
      pipe.length_m = std::max(pipe.length_m, shortest_pipe_m);
      pipe.diameter_m = zone_.lateral.inside_diameter_mm / 1000;
      if (p == 0) pipe.minor_k += options_.lateral_inlet_k;
      if (p + 1 == count && plan.far) pipe.minor_k += options_.lateral_inlet_k;
      pipe.friction = of_laterals;
      out_.network.pipes.push_back(pipe);
    }
  }

  void place_ports() {
    for (std::size_t i = 0; i < plan_.ports.size(); ++i)
      out_.ports.push_back({plan_.ports[i].port, node_of(port_taps_[i])});
    for (std::size_t i = 0; i < field_.ports.size(); ++i) {
      const Port& port = field_.ports[i];
      const bool start = port.kind == "lateral_inlet";
      if (!start && port.kind != "lateral_end") continue;
      if (std::find(port.zones.begin(), port.zones.end(), plan_.zone) == port.zones.end()) continue;
      place_lateral_port(static_cast<int>(i), start);
    }
  }

  void place_lateral_port(int index, bool start) {
    const Port& port = field_.ports[static_cast<std::size_t>(index)];
    constexpr double reach_m = 10;  // common practice, no source
    double nearest = std::numeric_limits<double>::infinity();
    int node = -1;
    for (const NetworkLateral& laid : out_.laterals) {
      const Line& line = field_.laterals[static_cast<std::size_t>(laid.lateral)].line;
      const double distance = distance_m(start ? line.front() : line.back(), port.place);
      if (distance >= nearest) continue;
      nearest = distance;
      node = start ? laid.nodes.front() : laid.nodes.back();
    }
    if (nearest / field_.scale_factor <= reach_m) {
      out_.ports.push_back({index, node});
      return;
    }
    doubts_.push_back({"port_joins_nothing", Severity::doubt, layer_place(field_, "ports"),
                       fmt::format("port {} ({}) lies far from every end that it could belong to",
                                   port.id, port.kind),
                       fmt::format("{:.1f} m", nearest / field_.scale_factor),
                       fmt::format("within {:g} m", reach_m),
                       "Check the port's place, kind and zone"});
  }

  const Field& field_;
  const ZonePlan& plan_;
  const Zone& zone_;
  const Terrain& terrain_;
  const HydraulicOptions& options_;
  Doubts& doubts_;
  ZoneNetwork out_;
  std::vector<Tap> taps_;
  std::vector<std::size_t> same_;  ///< towards the first tap that is the same node
  std::vector<std::size_t> order_;
  std::vector<std::size_t> supply_taps_;
  std::vector<std::size_t> far_taps_;
  std::vector<std::size_t> inlet_taps_;
  std::vector<std::size_t> port_taps_;
  double sd_squares_ = 0;
  double lines_ = 0;
};

}  // namespace

void ZoneNetwork::set_inlet_pressure(double kpa) {
  for (FixedHead& fixed : network.fixed_heads)
    fixed.head_m = network.elevation_m[static_cast<std::size_t>(fixed.node)] + head_m(kpa);
}

std::optional<ZoneNetwork> zone_network(const Field& field, int zone, const Terrain& terrain,
                                        const HydraulicOptions& options, Doubts& doubts) {
  const auto plan = plan_zone(field, zone, options, doubts);
  if (!plan) return {};
  tell_temperature(options, doubts);
  try {
    return Builder(field, *plan, terrain, options, doubts).build();
  } catch (const InputError& error) {
    for (Doubt doubt : error.problems()) {
      doubt.severity = Severity::doubt;
      tell_once(doubts, std::move(doubt));
    }
    return {};
  }
}

}  // namespace evendrip
