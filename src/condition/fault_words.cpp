// SPDX-License-Identifier: Apache-2.0
#include "fault_words.hpp"

#include "evendrip/units/quantity.hpp"

#include <algorithm>
#include <numeric>
#include <string_view>
#include <vector>

#include <fmt/format.h>

namespace evendrip {
namespace {

constexpr double at_inlet_m = 0.01;
constexpr double told_share = 0.9;

std::string done(FaultKind kind) {
  switch (kind) {
    case FaultKind::shut:
      return "shut";
    case FaultKind::pinch:
      return "narrowed";
    case FaultKind::cut:
      break;
  }
  return "cut open";
}

std::string place_along(const Field& field, double station_m) {
  const std::string_view unit = report_unit(Dimension::length, field.report_units);
  return fmt::format("{:.0f} {}", from_canonical(station_m, unit, Dimension::length), unit);
}

/// Laterals whose joints lie at both ends of the section.
std::vector<std::string> joints_about(const Field& field, const ZoneNetwork& network,
                                      const Fault& fault) {
  std::vector<std::string> joints;
  for (const NetworkSection& section : network.sections) {
    if (section.manifold != fault.line || fault.station_m < section.from_m ||
        fault.station_m > section.to_m)
      continue;
    const Pipe& pipe = network.network.pipes[static_cast<std::size_t>(section.pipe)];
    for (const int node : {pipe.from, pipe.to})
      for (const NetworkLateral& lateral : network.laterals)
        if (lateral.nodes.front() == node) {
          joints.push_back(field.laterals[static_cast<std::size_t>(lateral.lateral)].id);
          break;
        }
    break;
  }
  return joints;
}

std::string several_laterals(const Field& field, const std::vector<int>& laterals) {
  const auto id = [&field](int lateral) {
    return field.laterals[static_cast<std::size_t>(lateral)].id;
  };
  return fmt::format("laterals {} {} {}", id(laterals.front()), laterals.size() == 2 ? "and" : "to",
                     id(laterals.back()));
}

/// ", between the joints of L40 and L41" of a section of manifold.
std::string beside(const Field& field, const ZoneNetwork& network, const Fault& fault) {
  const std::vector<std::string> joints = joints_about(field, network, fault);
  if (joints.size() == 1) return fmt::format(", beside the joint of {}", joints[0]);
  if (joints.size() == 2)
    return fmt::format(", between the joints of {} and {}", joints[0], joints[1]);
  return "";
}

std::string laterals_of(const Field& field, const SharedFault& shared) {
  return shared.laterals.size() > 1
             ? several_laterals(field, shared.laterals)
             : "lateral " + field.laterals[static_cast<std::size_t>(shared.fault.line)].id;
}

std::string place_words(const Field& field, const ZoneNetwork& network, const SharedFault& shared) {
  const Fault& fault = shared.fault;
  const std::string along = place_along(field, fault.station_m);
  if (!fault.on_lateral)
    return fmt::format("manifold {}, {}{}",
                       field.manifolds[static_cast<std::size_t>(fault.line)].id, along,
                       beside(field, network, fault));
  return fmt::format("{}, {}", laterals_of(field, shared),
                     fault.station_m < at_inlet_m ? std::string("inlet") : along);
}

double water_taken(const LikelyPlace& place) {
  return -std::accumulate(place.change.begin(), place.change.end(), 0.0);
}

}  // namespace

std::string fault_words(const Field& field, const ZoneNetwork& network, const SharedFault& shared) {
  const Fault& fault = shared.fault;
  const auto line = static_cast<std::size_t>(fault.line);
  if (fault.on_lateral) {
    const bool several = shared.laterals.size() > 1;
    const std::string names = laterals_of(field, shared);
    if (fault.station_m < at_inlet_m)
      return fmt::format("{}: inlet{} {}", names, several ? "s" : "", done(fault.kind));
    return fmt::format("{}: {} at {}", names, done(fault.kind),
                       place_along(field, fault.station_m));
  }
  return fmt::format("manifold {}: {} at {}{}", field.manifolds[line].id, done(fault.kind),
                     place_along(field, fault.station_m), beside(field, network, fault));
}

std::string fault_words(const Field& field, const ZoneNetwork& network, const SharedFault& shared,
                        double delivery) {
  return fmt::format("{}, delivery {} {:.0f} % of clean", fault_words(field, network, shared),
                     shared.fault.kind == FaultKind::cut ? "of what it starves" : "beyond it",
                     100 * delivery);
}

std::string reach_words(const Field& field, const ZoneNetwork& network,
                        const std::vector<LikelyPlace>& places) {
  auto end = places.begin();
  for (double sum = 0; end != places.end() && sum < told_share; ++end) sum += end->weight;
  const auto [least, most] = std::minmax_element(
      places.begin(), end,
      [](const LikelyPlace& a, const LikelyPlace& b) { return water_taken(a) < water_taken(b); });
  if (least == most) return "";
  const std::string from = place_words(field, network, most->shared);
  const std::string to = place_words(field, network, least->shared);
  if (from == to) return "";
  return fmt::format("; it may lie anywhere from {}, to {}", from, to);
}

}  // namespace evendrip
