// SPDX-License-Identifier: Apache-2.0
// An invented zone for tests, as plain structs: parallel laterals flowing north from a supply
// manifold that runs east from its inlet, in metres of no CRS (grid length is ground length).
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <utility>

#include "evendrip/field/field.hpp"

namespace evendrip::invented_zone {

struct Layout {
  int laterals = 20;
  double length_m = 200;
  double lateral_spacing_m = 1.5;
  double emitter_spacing_m = 0.5;
  double first_offset_m = 0.25;
  LateralEnds ends = LateralEnds::closed;
};

inline Lateral lateral_from(const Zone& zone, std::string id, Line line, double length_m) {
  const double room = length_m - zone.emitter.first_offset_m + 0.001;
  const int emitters = room >= 0 ? static_cast<int>(room / zone.emitter.spacing_m) + 1 : 0;
  return {std::move(id), 0, std::move(line), length_m, emitters};
}

inline Manifold manifold_from(std::string id, bool supply, double inside_diameter_mm, Line line) {
  Manifold manifold;
  manifold.id = std::move(id);
  manifold.zone = 0;
  manifold.supply = supply;
  manifold.inside_diameter_mm = inside_diameter_mm;
  manifold.line = std::move(line);
  return manifold;
}

inline Port port_from(std::string id, std::string kind, Point place) {
  return {std::move(id), {0}, std::move(kind), 0, place};
}

/// Lateral i lies at x = spacing (i + 0.5) from y 0 to the length. Emitters 1 L/h at 100 kPa, x
/// 0.5; laterals 16 mm; supply manifold 75 mm along y = 0 with a zone_inlet port at (0, 0); flush
/// manifold 50 mm or a second supply manifold (its own zone_inlet port) along y = length as the
/// ends ask.
inline Field field_of(const Layout& layout) {
  Field field;
  Zone zone;
  zone.id = "Z1";
  zone.inlet_pressure_kpa = 100;
  zone.emitter.discharge_lph = 1;
  zone.emitter.pressure_kpa = 100;
  zone.emitter.spacing_m = layout.emitter_spacing_m;
  zone.emitter.first_offset_m = layout.first_offset_m;
  zone.lateral.inside_diameter_mm = 16;
  zone.lateral.spacing_m = layout.lateral_spacing_m;
  zone.lateral.ends = layout.ends;
  const double width = layout.laterals * layout.lateral_spacing_m;
  const double top = layout.length_m;
  zone.area = {{{{0, 0}, {width, 0}, {width, top}, {0, top}}, {}}};
  field.zones.push_back(zone);
  for (int i = 0; i < layout.laterals; ++i) {
    const double x = layout.lateral_spacing_m * (i + 0.5);
    field.laterals.push_back(
        lateral_from(zone, "L" + std::to_string(i + 1), {{x, 0}, {x, top}}, top));
  }
  field.manifolds.push_back(manifold_from("supply", true, 75, {{0, 0}, {width, 0}}));
  field.ports.push_back(port_from("inlet", "zone_inlet", {0, 0}));
  if (layout.ends == LateralEnds::flush_manifold)
    field.manifolds.push_back(manifold_from("flush", false, 50, {{0, top}, {width, top}}));
  if (layout.ends == LateralEnds::both_fed) {
    field.manifolds.push_back(manifold_from("second", true, 75, {{0, top}, {width, top}}));
    field.ports.push_back(port_from("second_inlet", "zone_inlet", {0, top}));
  }
  return field;
}

inline std::size_t count_of(const Doubts& doubts, std::string_view code) {
  return static_cast<std::size_t>(std::count_if(
      doubts.begin(), doubts.end(), [&](const Doubt& doubt) { return doubt.code == code; }));
}

inline const Doubt* first_of(const Doubts& doubts, std::string_view code) {
  const auto found = std::find_if(doubts.begin(), doubts.end(),
                                  [&](const Doubt& doubt) { return doubt.code == code; });
  return found == doubts.end() ? nullptr : &*found;
}

}  // namespace evendrip::invented_zone
