// SPDX-License-Identifier: Apache-2.0
#include "layers.hpp"

#include <algorithm>
#include <cstdlib>
#include <map>
#include <set>

#include <fmt/format.h>

#include "evendrip/crs/overlay.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

/// Overlap of two zones that is told, m2: less comes from drawing shared edges twice.
constexpr double told_overlap_m2 = 5.0;
/// Kept clear around a hazard that states no distance; common practice, no source.
constexpr double default_clearance_m = 1.0;

const std::vector<std::string>& port_kinds() {
  static const std::vector<std::string> kinds{
      "pump",      "filter_in",  "filter_out",    "main",        "valve_in",
      "valve_out", "zone_inlet", "lateral_inlet", "lateral_end", "flush_end"};
  return kinds;
}

const std::vector<std::string>& observation_kinds() {
  static const std::vector<std::string> kinds{"wet_spot", "dry_strip",   "mound",
                                              "salt",     "wheel_track", "surfacing"};
  return kinds;
}

bool is_one_of(const std::vector<std::string>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

std::vector<std::string> separated(const std::string& text) {
  std::vector<std::string> parts;
  std::string part;
  for (const char c : text + ",") {
    if (c == ',' || c == ';' || c == ' ') {
      if (!part.empty()) parts.push_back(part);
      part.clear();
    } else {
      part += c;
    }
  }
  return parts;
}

void tell_empty(const RoleLayer& layer, const Feature& feature, const char* expected,
                Doubts& doubts) {
  doubts.push_back({"wrong_shape", Severity::problem, layer.place_of(feature),
                    fmt::format("a feature of [layers] {} has the wrong kind of shape", layer.role),
                    "", expected, "Remove the feature or draw it again"});
}

int declared_zone(const RoleLayer& layer, const Feature& feature, const std::vector<Zone>& zones,
                  Doubts& doubts) {
  const std::string id = feature.attribute("zone");
  if (id.empty()) return -1;
  const int zone = zone_index(zones, id);
  if (zone < 0) {
    doubts.push_back({"unknown_zone", Severity::problem, layer.place_of(feature, "zone"),
                      "there is no zone of that name", id, zone_list(zones),
                      "Correct the name, or add the zone's polygon"});
  }
  return zone;
}

void add_shape(Zone& zone, const RoleLayer& layer, const Feature& feature, Doubts& doubts) {
  const std::string reason = invalid_because(feature.polygons);
  const MultiPolygon shape = reason.empty() ? feature.polygons : made_valid(feature.polygons);
  if (!reason.empty()) {
    doubts.push_back({"outline_mended", Severity::doubt, layer.place_of(feature),
                      "the outline of zone " + zone.id + " was not valid and was mended", reason,
                      "", "Draw the outline again without self-crossings"});
  }
  zone.area.insert(zone.area.end(), shape.begin(), shape.end());
}

void tell_overlaps(const RoleLayer& layer, const std::vector<Zone>& zones, Doubts& doubts) {
  for (std::size_t a = 0; a < zones.size(); ++a) {
    for (std::size_t b = a + 1; b < zones.size(); ++b) {
      if (!extent_of(zones[a].area).intersects(extent_of(zones[b].area))) continue;
      const double overlap = area_m2(intersection_of(zones[a].area, zones[b].area));
      if (overlap <= told_overlap_m2) continue;
      doubts.push_back({"zones_overlap",
                        Severity::doubt,
                        {layer.layer.file, layer.layer.layer, 0, ""},
                        fmt::format("zones {} and {} overlap", zones[a].id, zones[b].id),
                        fmt::format("{:.0f} m2", overlap),
                        "zones that only share edges",
                        "Places in both count in the zone that stands first"});
    }
  }
}

std::vector<int> port_zones(const RoleLayer& layer, const Feature& feature,
                            const std::vector<Zone>& zones, Doubts& doubts) {
  const std::string one = feature.attribute("zone");
  const std::string text = one.empty() ? feature.attribute("zones") : one;
  std::vector<int> found;
  for (const std::string& id : separated(text)) {
    const int zone = zone_index(zones, id);
    if (zone >= 0) {
      found.push_back(zone);
    } else {
      doubts.push_back({"unknown_zone", Severity::problem,
                        layer.place_of(feature, one.empty() ? "zones" : "zone"),
                        "there is no zone of that name", id, zone_list(zones),
                        "Correct the name, or add the zone's polygon"});
    }
  }
  const int here = text.empty() ? zone_at(zones, feature.points.front()) : -1;
  if (here >= 0) found.push_back(here);
  return found;
}

}  // namespace

std::optional<double> attribute_quantity(const RoleLayer& layer, const Feature& feature,
                                         std::string_view stem, Dimension dimension,
                                         Doubts& doubts) {
  for (const auto& [name, text] : feature.attributes) {
    const Heading heading = parse_heading(name, stem, dimension);
    if (heading.unit.empty() || text.empty()) continue;
    char* end = nullptr;
    const double value = std::strtod(text.c_str(), &end);
    if (end == text.c_str() || *end != '\0') {
      doubts.push_back({"not_a_number", Severity::problem, layer.place_of(feature, name),
                        "the attribute is no number", text, "a number", "Correct the attribute"});
      return std::nullopt;
    }
    return to_canonical(value, heading.unit, dimension);
  }
  return std::nullopt;
}

std::vector<std::string> feature_ids(const RoleLayer& layer, std::string_view prefix,
                                     Repeats repeats, Doubts& doubts) {
  std::vector<std::string> ids;
  std::map<std::string, std::size_t> first_feature;
  std::vector<const Feature*> nameless;
  for (const Feature& feature : layer.layer.features) {
    std::string id = feature.attribute("id");
    if (id.empty()) {
      nameless.push_back(&feature);
    } else if (const auto [at, is_new] = first_feature.emplace(id, feature.number);
               !is_new && repeats == Repeats::refused) {
      doubts.push_back({"id_twice", Severity::problem, layer.place_of(feature, "id"),
                        fmt::format("the id stands at feature {} too", at->second), id,
                        "an id that no other feature has", "Give each feature its own id"});
    }
    ids.push_back(std::move(id));
  }
  for (std::size_t i = 0; i < ids.size(); ++i) {
    if (!ids[i].empty()) continue;
    std::string id = fmt::format("{}{}", prefix, layer.layer.features[i].number);
    while (!first_feature.emplace(id, 0).second) id += "x";
    ids[i] = std::move(id);
  }
  if (!nameless.empty()) {
    doubts.push_back(
        {"id_missing", Severity::doubt, layer.place_of(*nameless.front(), "id"),
         fmt::format("{} of {} features of [layers] {} have no id", nameless.size(), ids.size(),
                     layer.role),
         "", "an attribute named id",
         fmt::format("They are called {}1, {}2 ... by their place in the file", prefix, prefix)});
  }
  return ids;
}

int zone_index(const std::vector<Zone>& zones, std::string_view id) {
  for (std::size_t z = 0; z < zones.size(); ++z) {
    if (zones[z].id == id) return static_cast<int>(z);
  }
  return -1;
}

int zone_at(const std::vector<Zone>& zones, Point p) {
  for (std::size_t z = 0; z < zones.size(); ++z) {
    if (contains(zones[z].area, p)) return static_cast<int>(z);
  }
  return -1;
}

std::string first_few(const std::vector<std::string>& names) {
  constexpr std::size_t most = 8;
  std::string text;
  for (std::size_t i = 0; i < names.size() && i < most; ++i) {
    text += (i > 0 ? ", " : "") + names[i];
  }
  if (names.size() > most) text += fmt::format(" and {} more", names.size() - most);
  return text;
}

std::string zone_list(const std::vector<Zone>& zones) {
  std::vector<std::string> names;
  names.reserve(zones.size());
  for (const Zone& zone : zones) names.push_back(zone.id);
  return names.empty() ? "a zone, but none could be read" : first_few(names);
}

std::vector<Zone> zones_from(const RoleLayer& layer, Doubts& doubts) {
  std::vector<Zone> zones;
  const auto ids = feature_ids(layer, "Z", Repeats::allowed, doubts);
  for (std::size_t i = 0; i < ids.size(); ++i) {
    const Feature& feature = layer.layer.features[i];
    if (feature.polygons.empty()) {
      tell_empty(layer, feature, "a polygon", doubts);
      continue;
    }
    int index = zone_index(zones, ids[i]);
    if (index < 0) {
      index = static_cast<int>(zones.size());
      zones.emplace_back().id = ids[i];
    }
    Zone& zone = zones[static_cast<std::size_t>(index)];
    add_shape(zone, layer, feature, doubts);
    if (!(area_m2(zone.area) > 0)) {
      doubts.push_back({"zone_without_area", Severity::problem, layer.place_of(feature),
                        "zone " + zone.id + " has no area", "0 m2", "a polygon with an area",
                        "Draw the zone's outline again"});
    }
  }
  tell_overlaps(layer, zones, doubts);
  return zones;
}

std::vector<Manifold> manifolds_from(const RoleLayer& layer, const std::vector<Zone>& zones,
                                     Doubts& doubts) {
  std::vector<Manifold> manifolds;
  const auto ids = feature_ids(layer, "M", Repeats::allowed, doubts);
  for (std::size_t i = 0; i < ids.size(); ++i) {
    const Feature& feature = layer.layer.features[i];
    if (feature.lines.empty()) tell_empty(layer, feature, "a line", doubts);
    Manifold manifold;
    manifold.id = ids[i];
    manifold.zone = declared_zone(layer, feature, zones, doubts);
    const std::string kind = feature.attribute("kind");
    manifold.supply = kind != "flush";
    if (kind != "supply" && kind != "flush") {
      doubts.push_back({"unknown_manifold_kind", kind.empty() ? Severity::doubt : Severity::problem,
                        layer.place_of(feature, "kind"),
                        "the manifold's kind is not stated; it is taken as supply", kind,
                        "supply or flush", "Set the attribute kind"});
    }
    manifold.inside_diameter_mm =
        1000 * attribute_quantity(layer, feature, "inside_diameter", Dimension::length, doubts)
                   .value_or(0);
    for (const Line& line : feature.lines) {
      manifold.line = line;
      manifolds.push_back(manifold);
    }
  }
  return manifolds;
}

std::vector<Port> ports_from(const RoleLayer& layer, const std::vector<Zone>& zones,
                             Doubts& doubts) {
  std::vector<Port> ports;
  const auto ids = feature_ids(layer, "P", Repeats::refused, doubts);
  for (std::size_t i = 0; i < ids.size(); ++i) {
    const Feature& feature = layer.layer.features[i];
    if (feature.points.empty()) {
      tell_empty(layer, feature, "a point", doubts);
      continue;
    }
    Port port;
    port.id = ids[i];
    port.place = feature.points.front();
    port.kind = feature.attribute("kind");
    if (!is_one_of(port_kinds(), port.kind)) {
      doubts.push_back({"unknown_port_kind", Severity::problem, layer.place_of(feature, "kind"),
                        "there is no such kind of port", port.kind,
                        fmt::format("{}", fmt::join(port_kinds(), ", ")), "Correct the kind"});
    }
    port.zones = port_zones(layer, feature, zones, doubts);
    port.gauge_height_m =
        attribute_quantity(layer, feature, "gauge_height", Dimension::length, doubts).value_or(0);
    ports.push_back(std::move(port));
  }
  return ports;
}

std::vector<Hazard> hazards_from(const RoleLayer& layer, Doubts& doubts) {
  std::vector<Hazard> hazards;
  for (const Feature& feature : layer.layer.features) {
    Hazard hazard;
    hazard.kind = feature.attribute("kind");
    const auto clearance =
        attribute_quantity(layer, feature, "clearance", Dimension::length, doubts);
    if (!clearance || *clearance < 0) {
      doubts.push_back({"clearance_missing", Severity::doubt,
                        layer.place_of(feature, "clearance_m"),
                        fmt::format("no clearance is stated; {} m are kept", default_clearance_m),
                        clearance ? fmt::format("{:g}", *clearance) : "", "a distance in metres",
                        "Ask the owner of the buried line, and locate it before digging"});
    }
    hazard.clearance_m = clearance && *clearance >= 0 ? *clearance : default_clearance_m;
    hazard.points = feature.points;
    hazard.lines = feature.lines;
    hazard.area = feature.polygons;
    hazards.push_back(std::move(hazard));
  }
  return hazards;
}

std::vector<Observation> observations_from(const RoleLayer& layer, Doubts& doubts) {
  std::vector<Observation> observations;
  for (const Feature& feature : layer.layer.features) {
    Observation observation;
    observation.kind = feature.attribute("kind");
    observation.note = feature.attribute("note");
    observation.points = feature.points;
    observation.lines = feature.lines;
    if (!is_one_of(observation_kinds(), observation.kind)) {
      doubts.push_back({"unknown_observation_kind", Severity::doubt,
                        layer.place_of(feature, "kind"), "there is no such kind of observation",
                        observation.kind, fmt::format("{}", fmt::join(observation_kinds(), ", ")),
                        "It is kept and drawn, but no finding leans on it"});
    }
    if (feature.points.empty() && feature.lines.empty()) {
      tell_empty(layer, feature, "a point or a line", doubts);
    }
    observations.push_back(std::move(observation));
  }
  return observations;
}

std::vector<SoilUnit> soil_from(const RoleLayer& layer, Doubts& doubts) {
  std::vector<SoilUnit> units;
  for (const Feature& feature : layer.layer.features) {
    const std::string name = feature.attribute("soil");
    if (name.empty()) {
      doubts.push_back({"soil_without_name", Severity::problem, layer.place_of(feature, "soil"),
                        "the polygon does not say which soil it is", "", "the name of the soil",
                        "Fill in the attribute soil"});
      continue;
    }
    if (feature.polygons.empty()) {
      tell_empty(layer, feature, "a polygon", doubts);
      continue;
    }
    auto unit =
        std::find_if(units.begin(), units.end(), [&](const SoilUnit& u) { return u.name == name; });
    if (unit == units.end()) unit = units.insert(units.end(), SoilUnit{name, {}});
    const MultiPolygon shape =
        invalid_because(feature.polygons).empty() ? feature.polygons : made_valid(feature.polygons);
    unit->area.insert(unit->area.end(), shape.begin(), shape.end());
  }
  return units;
}

}  // namespace evendrip
