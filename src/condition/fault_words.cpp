// SPDX-License-Identifier: Apache-2.0
#include "fault_words.hpp"

#include "evendrip/units/quantity.hpp"

#include <string_view>
#include <vector>

#include <fmt/format.h>

namespace evendrip {
namespace {

constexpr double at_inlet_m = 0.01;

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

}  // namespace

std::string fault_words(const Field& field, const ZoneNetwork& network, const SharedFault& shared) {
  const Fault& fault = shared.fault;
  const auto line = static_cast<std::size_t>(fault.line);
  if (fault.on_lateral) {
    const bool several = shared.laterals.size() > 1;
    const std::string names =
        several ? several_laterals(field, shared.laterals) : "lateral " + field.laterals[line].id;
    if (fault.station_m < at_inlet_m)
      return fmt::format("{}: inlet{} {}", names, several ? "s" : "", done(fault.kind));
    return fmt::format("{}: {} at {}", names, done(fault.kind),
                       place_along(field, fault.station_m));
  }
  const std::vector<std::string> joints = joints_about(field, network, fault);
  std::string where;
  if (joints.size() == 1) where = fmt::format(", beside the joint of {}", joints[0]);
  if (joints.size() == 2)
    where = fmt::format(", between the joints of {} and {}", joints[0], joints[1]);
  return fmt::format("manifold {}: {} at {}{}", field.manifolds[line].id, done(fault.kind),
                     place_along(field, fault.station_m), where);
}

std::string fault_words(const Field& field, const ZoneNetwork& network, const SharedFault& shared,
                        double delivery) {
  return fmt::format("{}, delivery {} {:.0f} % of clean", fault_words(field, network, shared),
                     shared.fault.kind == FaultKind::cut ? "of what it starves" : "beyond it",
                     100 * delivery);
}

}  // namespace evendrip
