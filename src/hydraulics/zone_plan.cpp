// SPDX-License-Identifier: Apache-2.0
#include "zone_plan.hpp"

#include <algorithm>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "doubt_places.hpp"
#include "evendrip/field/plausible.hpp"

namespace evendrip {
namespace {

const std::vector<UnitSlip> diameter_slips{{"mm", "m"},  {"mm", "in"}, {"mm", "cm"}, {"m", "mm"},
                                           {"cm", "mm"}, {"in", "mm"}, {"m", "in"}};

// Ranges: common practice, no source.
PlausibleRange lateral_bore() {
  return {Dimension::length, 0.003, 0.2, 0.008, 0.045, diameter_slips};
}
PlausibleRange manifold_bore() {
  return {Dimension::length, 0.008, 1.0, 0.016, 0.35, diameter_slips};
}

/// True if pipes of this bore can be laid; else told.
bool bore_is_usable(double diameter_mm, const PlausibleRange& range, const Place& place,
                    const std::string& what, Doubts& doubts) {
  if (!(diameter_mm > 0)) {
    doubts.push_back({"bad_diameter", Severity::doubt, place,
                      "the inside diameter of " + what + " is not stated", "",
                      "an inside diameter, for example \"16 mm\"", "State inside_diameter"});
    return false;
  }
  auto doubt = implausible(diameter_mm / 1000, range, place, fmt::format("{:g} mm", diameter_mm));
  if (!doubt || (doubt->severity != Severity::problem && doubt->code != "wrong_unit")) return true;
  doubt->code = "bad_diameter";
  doubt->severity = Severity::doubt;
  doubt->text = "the inside diameter of " + what + ": " + doubt->text;
  doubts.push_back(*std::move(doubt));
  return false;
}

bool bores_are_usable(const Field& field, const ZonePlan& plan, Doubts& doubts) {
  const Zone& zone = field.zones[static_cast<std::size_t>(plan.zone)];
  bool usable = bore_is_usable(zone.lateral.inside_diameter_mm, lateral_bore(),
                               {"field.toml", "[lateral]", 0, "inside_diameter"},
                               "the laterals of zone " + zone.id, doubts);
  for (const int index : plan.manifolds) {
    const Manifold& manifold = field.manifolds[static_cast<std::size_t>(index)];
    usable = bore_is_usable(manifold.inside_diameter_mm, manifold_bore(),
                            layer_place(field, "manifolds"), "manifold " + manifold.id, doubts) &&
             usable;
  }
  return usable;
}

void tell_long_spacing(const Field& field, const ZonePlan& plan, Doubts& doubts) {
  const Zone& zone = field.zones[static_cast<std::size_t>(plan.zone)];
  std::vector<std::string> short_ones;
  for (const LateralPlan& one : plan.laterals) {
    const Lateral& lateral = field.laterals[static_cast<std::size_t>(one.lateral)];
    if (zone.emitter.spacing_m > lateral.length_m) short_ones.push_back(lateral.id);
  }
  if (short_ones.empty()) return;
  doubts.push_back({"emitter_spacing_beyond_lateral", Severity::doubt,
                    Place{"field.toml", "[emitter]", 0, "spacing"},
                    fmt::format("the spacing of emitters is longer than {} laterals of zone {}: {}",
                                short_ones.size(), zone.id, some_of(short_ones)),
                    fmt::format("{:g} m", zone.emitter.spacing_m), "less than a lateral's length",
                    "Check the unit of the spacing, or remove lines left over from drawing"});
}

std::optional<ZonePlan> not_built(Doubt doubt, Doubts& doubts) {
  doubts.push_back(std::move(doubt));
  return {};
}

}  // namespace

std::optional<ZonePlan> plan_zone(const Field& field, int zone, const HydraulicOptions& options,
                                  Doubts& doubts) {
  const std::string& id = field.zones.at(static_cast<std::size_t>(zone)).id;
  ZonePlan plan;
  plan.zone = zone;
  plan.manifolds = manifolds_of(field, zone, ManifoldKind::supply);
  if (plan.manifolds.empty()) {
    return not_built(
        {"no_supply_manifold", Severity::doubt, layer_place(field, "manifolds"),
         fmt::format("zone {} has no supply manifold: its pressures cannot be computed", id), "",
         "a line of kind supply in [layers] manifolds",
         "Draw the manifold that feeds the zone's laterals"},
        doubts);
  }
  plan.laterals = lateral_plans(field, zone, options, doubts);
  if (plan.laterals.empty()) {
    return not_built({"no_lateral_joined", Severity::doubt, layer_place(field, "laterals"),
                      fmt::format("no lateral of zone {} is joined to its supply manifold", id), "",
                      "laterals that touch the manifold", "Check the lines and their zones"},
                     doubts);
  }
  if (field.zones[static_cast<std::size_t>(zone)].lateral.ends == LateralEnds::flush_manifold) {
    const auto flush = manifolds_of(field, zone, ManifoldKind::flush);
    plan.manifolds.insert(plan.manifolds.end(), flush.begin(), flush.end());
  }
  plan.ties = manifold_ties(field, plan.manifolds, options.joint_reach_m);
  find_inlets(field, plan, doubts);
  if (plan.laterals.empty()) return {};  // told as islands
  std::erase_if(plan.ports, [&plan](const PortPlan& port) {
    return std::find(plan.manifolds.begin(), plan.manifolds.end(), port.at.manifold) ==
           plan.manifolds.end();
  });
  if (!bores_are_usable(field, plan, doubts)) return {};
  tell_long_spacing(field, plan, doubts);
  return plan;
}

}  // namespace evendrip
