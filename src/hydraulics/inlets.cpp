// SPDX-License-Identifier: Apache-2.0
// Where water enters a zone, and what it reaches from there.
#include <algorithm>
#include <array>
#include <limits>
#include <numeric>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "doubt_places.hpp"
#include "evendrip/geo/line.hpp"
#include "zone_plan.hpp"

namespace evendrip {
namespace {

/// A port farther from its manifold belongs elsewhere; common practice, no source.
constexpr double port_reach_m = 10;

const Manifold& manifold_at(const Field& field, int index) {
  return field.manifolds[static_cast<std::size_t>(index)];
}

/// Manifolds that hang together.
class Groups {
 public:
  explicit Groups(std::size_t count) : parent_(count) {
    std::iota(parent_.begin(), parent_.end(), 0);
  }
  int of(int item) {
    while (parent_[static_cast<std::size_t>(item)] != item) item = up(item);
    return item;
  }
  void join(int a, int b) {
    a = of(a);
    b = of(b);
    parent_[static_cast<std::size_t>(std::max(a, b))] = std::min(a, b);
  }

 private:
  int up(int item) { return parent_[static_cast<std::size_t>(item)]; }
  std::vector<int> parent_;
};

bool serves(const Port& port, int zone) {
  return std::find(port.zones.begin(), port.zones.end(), zone) != port.zones.end();
}

void find_ports(const Field& field, ZonePlan& plan, Doubts& doubts) {
  const auto supply = manifolds_of(field, plan.zone, ManifoldKind::supply);
  const auto flush = manifolds_of(field, plan.zone, ManifoldKind::flush);
  for (std::size_t i = 0; i < field.ports.size(); ++i) {
    const Port& port = field.ports[i];
    const bool inlet = port.kind == "zone_inlet";
    if (!serves(port, plan.zone) || (!inlet && port.kind != "flush_end")) continue;
    const auto at = nearest_joint(field, inlet ? supply : flush, port.place);
    if (!at) continue;
    if (at->distance_m > port_reach_m) {
      doubts.push_back(
          {"port_joins_nothing", Severity::doubt, layer_place(field, "ports"),
           fmt::format("port {} ({}) lies far from every manifold that it could "
                       "belong to{}",
                       port.id, port.kind, inlet ? "; the nearest place is taken" : ""),
           fmt::format("{:.1f} m", at->distance_m), fmt::format("within {:g} m", port_reach_m),
           "Check the port's place, kind and zone"});
      if (!inlet) continue;
    }
    plan.ports.push_back({static_cast<int>(i), *at});
  }
}

/// End of a supply manifold nearest to the first of these ports that there is: water comes from
/// there.
std::optional<Joint> end_that_stands_out(const Field& field, const ZonePlan& plan) {
  constexpr std::array kinds{"valve_out", "valve_in", "main", "filter_out", "filter_in", "pump"};
  for (const char* kind : kinds) {
    for (const Port& port : field.ports) {
      if (port.kind != kind || !(port.zones.empty() || serves(port, plan.zone))) continue;
      std::optional<Joint> best;
      for (const int index : plan.manifolds) {
        const Manifold& manifold = manifold_at(field, index);
        if (!manifold.supply) continue;
        const std::array ends{Joint{index, 0, distance_m(manifold.line.front(), port.place)},
                              Joint{index, ground_length_m(field, manifold.line),
                                    distance_m(manifold.line.back(), port.place)}};
        for (const Joint& end : ends)
          if (!best || end.distance_m < best->distance_m) best = end;
      }
      return best;
    }
  }
  return {};
}

/// The supply manifold that most laterals start from.
int busiest_manifold(const Field& field, const ZonePlan& plan) {
  std::vector<int> laterals(field.manifolds.size(), 0);
  for (const LateralPlan& lateral : plan.laterals)
    ++laterals[static_cast<std::size_t>(lateral.supply.manifold)];
  return static_cast<int>(std::max_element(laterals.begin(), laterals.end()) - laterals.begin());
}

Inlet inlet_without_port(const Field& field, const ZonePlan& plan, Doubts& doubts) {
  if (const auto end = end_that_stands_out(field, plan)) return {*end, -1};
  const int manifold = busiest_manifold(field, plan);
  doubts.push_back({"inlet_not_known", Severity::doubt, layer_place(field, "ports"),
                    fmt::format("nothing says where water enters zone {}: the first point of "
                                "manifold {} is taken",
                                field.zones[static_cast<std::size_t>(plan.zone)].id,
                                manifold_at(field, manifold).id),
                    "", "a port of kind zone_inlet on the supply manifold",
                    "Add the port, or draw the manifold from its inlet"});
  return {{manifold, 0, 0}, -1};
}

struct Connected {
  Groups by_manifolds;  ///< through manifolds alone
  Groups by_pipes;      ///< through laterals as well
};

Connected connected(const Field& field, const ZonePlan& plan) {
  Connected groups{Groups(field.manifolds.size()), Groups(field.manifolds.size())};
  for (const Tie& tie : plan.ties) {
    groups.by_manifolds.join(tie.end.manifold, tie.at.manifold);
    groups.by_pipes.join(tie.end.manifold, tie.at.manifold);
  }
  for (const LateralPlan& lateral : plan.laterals)
    if (lateral.far) groups.by_pipes.join(lateral.supply.manifold, lateral.far->manifold);
  return groups;
}

/// One inlet for each part of the supply manifolds that has a port.
void choose_inlets(const Field& field, ZonePlan& plan, Groups& groups, Doubts& doubts) {
  std::vector<int> fed;
  for (const PortPlan& port : plan.ports) {
    if (field.ports[static_cast<std::size_t>(port.port)].kind != "zone_inlet") continue;
    const int group = groups.of(port.at.manifold);
    if (std::find(fed.begin(), fed.end(), group) != fed.end()) continue;
    fed.push_back(group);
    plan.inlets.push_back({port.at, port.port});
  }
  if (plan.inlets.empty()) plan.inlets.push_back(inlet_without_port(field, plan, doubts));
}

void tell_supply_without_inlet(const Field& field, const ZonePlan& plan, Groups& groups,
                               Doubts& doubts) {
  std::vector<std::string> unfed;
  for (const int index : plan.manifolds) {
    const Manifold& manifold = manifold_at(field, index);
    const bool fed = std::any_of(plan.inlets.begin(), plan.inlets.end(), [&](const Inlet& inlet) {
      return groups.of(inlet.at.manifold) == groups.of(index);
    });
    const bool used =
        std::any_of(plan.laterals.begin(), plan.laterals.end(), [&](const LateralPlan& lateral) {
          return lateral.supply.manifold == index ||
                 (lateral.far && lateral.far->manifold == index);
        });
    if (manifold.supply && !fed && (used || manifold.zone == plan.zone))
      unfed.push_back(manifold.id);
  }
  if (unfed.empty()) return;
  doubts.push_back(
      {"island_pipe", Severity::doubt, layer_place(field, "manifolds"),
       fmt::format("supply manifolds of zone {} are joined to no inlet by manifolds: "
                   "{}",
                   field.zones[static_cast<std::size_t>(plan.zone)].id, some_of(unfed)),
       "", "ends that meet, or a zone_inlet port on each part",
       "Draw the pipe between them, or add the port"});
}

/// Keeps what the inlets reach through pipes of any kind.
void leave_islands_out(const Field& field, ZonePlan& plan, Groups& groups, Doubts& doubts) {
  const auto reached = [&](int manifold) {
    return std::any_of(plan.inlets.begin(), plan.inlets.end(), [&](const Inlet& inlet) {
      return groups.of(inlet.at.manifold) == groups.of(manifold);
    });
  };
  std::vector<std::string> cut_off;
  for (const LateralPlan& lateral : plan.laterals)
    if (!reached(lateral.supply.manifold))
      cut_off.push_back(field.laterals[static_cast<std::size_t>(lateral.lateral)].id);
  std::erase_if(plan.laterals, [&](const auto& l) { return !reached(l.supply.manifold); });
  std::erase_if(plan.manifolds, [&](int m) { return !reached(m); });
  std::erase_if(plan.ties, [&](const Tie& tie) { return !reached(tie.end.manifold); });
  std::erase_if(plan.ports, [&](const PortPlan& port) { return !reached(port.at.manifold); });
  if (cut_off.empty()) return;
  doubts.push_back({"island_pipe", Severity::doubt, layer_place(field, "laterals"),
                    fmt::format("{} laterals of zone {} start from manifolds that no inlet feeds "
                                "and are left out of its hydraulics: {}",
                                cut_off.size(), field.zones[static_cast<std::size_t>(plan.zone)].id,
                                some_of(cut_off)),
                    "", "a way for the water from the inlet",
                    "Join the manifolds, or add a zone_inlet port on each part"});
}

}  // namespace

void find_inlets(const Field& field, ZonePlan& plan, Doubts& doubts) {
  find_ports(field, plan, doubts);
  Connected groups = connected(field, plan);
  choose_inlets(field, plan, groups.by_manifolds, doubts);
  tell_supply_without_inlet(field, plan, groups.by_manifolds, doubts);
  leave_islands_out(field, plan, groups.by_pipes, doubts);
}

}  // namespace evendrip
