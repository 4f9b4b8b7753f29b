// SPDX-License-Identifier: Apache-2.0
#include "laterals.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "evendrip/crs/overlay.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

/// A lateral's end within this distance of a manifold touches it.
constexpr double touches_m = 2.0;
/// Part of a lateral outside its zone that is told, m: less comes from drawing.
constexpr double told_outside_m = 2.0;

double length_inside_m(const Line& line, const MultiPolygon& area) {
  if (!extent_of(area).intersects(extent_of(line))) return 0;
  double inside = 0;
  for (const Line& part : inside_parts(line, area)) inside += length_m(part);
  return inside;
}

int zone_with_most_of(const Line& line, const std::vector<Zone>& zones) {
  int best = -1;
  double most = 0;
  for (std::size_t z = 0; z < zones.size(); ++z) {
    const double inside = length_inside_m(line, zones[z].area);
    if (inside > most) {
      most = inside;
      best = static_cast<int>(z);
    }
  }
  return best;
}

enum class Serves { supply, flush };

/// Distance from a point to the nearest manifold of a kind that serves the zone.
double manifold_distance_m(const Field& field, int zone, Point p, Serves serves) {
  double nearest = std::numeric_limits<double>::infinity();
  for (const Manifold& manifold : field.manifolds) {
    if (manifold.supply != (serves == Serves::supply) ||
        (manifold.zone >= 0 && manifold.zone != zone))
      continue;
    nearest = std::min(nearest, project_onto(manifold.line, p).distance_m);
  }
  return nearest;
}

enum class Direction { as_drawn, reversed, not_told };

Direction supply_direction(const Field& field, int zone, const Line& line) {
  const double start = manifold_distance_m(field, zone, line.front(), Serves::supply);
  const double end = manifold_distance_m(field, zone, line.back(), Serves::supply);
  if (std::min(start, end) <= touches_m) {
    return end < start ? Direction::reversed : Direction::as_drawn;
  }
  const double flush_start = manifold_distance_m(field, zone, line.front(), Serves::flush);
  const double flush_end = manifold_distance_m(field, zone, line.back(), Serves::flush);
  if (std::min(flush_start, flush_end) <= touches_m) {
    return flush_start < flush_end ? Direction::reversed : Direction::as_drawn;
  }
  return Direction::not_told;
}

/// Zone of one lateral; -1 with a problem if it has none.
int zone_of(const RoleLayer& layer, const Feature& feature, const Line& line, const std::string& id,
            const std::vector<Zone>& zones, Doubts& doubts) {
  const std::string declared = feature.attribute("zone");
  const int by_place = zone_with_most_of(line, zones);
  if (declared.empty()) {
    if (by_place < 0) {
      doubts.push_back({"lateral_outside_zones", Severity::problem, layer.place_of(feature),
                        "lateral " + id + " lies in no zone", "", zone_list(zones),
                        "Correct the line or the zone's outline, or remove the line"});
    }
    return by_place;
  }
  const int zone = zone_index(zones, declared);
  if (zone < 0) {
    doubts.push_back({"unknown_zone", Severity::problem, layer.place_of(feature, "zone"),
                      "lateral " + id + " names a zone that is not there", declared,
                      zone_list(zones), "Correct the name, or add the zone's polygon"});
    return by_place;
  }
  const auto z = static_cast<std::size_t>(zone);
  const double outside = length_m(line) - length_inside_m(line, zones[z].area);
  if (by_place != zone && outside > told_outside_m) {
    doubts.push_back(
        {"lateral_in_other_zone", Severity::doubt, layer.place_of(feature, "zone"),
         fmt::format("lateral {} is declared in zone {} but lies mostly {}", id, declared,
                     by_place < 0 ? "outside every zone"
                                  : "in zone " + zones[static_cast<std::size_t>(by_place)].id),
         fmt::format("{:.1f} m outside", outside), "a line inside its zone",
         "The declared zone is used"});
  }
  return zone;
}

void tell_direction(const RoleLayer& layer, const std::vector<std::string>& untold, std::size_t all,
                    const Field& field, Doubts& doubts) {
  if (untold.empty()) return;
  const bool any = !field.manifolds.empty();
  doubts.push_back({"supply_end_not_told",
                    Severity::doubt,
                    {layer.layer.file, layer.layer.layer, 0, ""},
                    fmt::format("{} of {} laterals touch no manifold; their stations are counted "
                                "from the end drawn first",
                                untold.size(), all),
                    first_few(untold),
                    any ? fmt::format("a manifold within {} m of an end", touches_m)
                        : "a supply manifold in [layers] manifolds",
                    "Draw each lateral from its supply end, or add the manifolds"});
}

/// Straight axis of a line with the offsets of its points from it; tells quickly that two lines
/// cannot cross.
struct Axis {
  Point origin;
  Point normal;
  double low = 0;
  double high = 0;

  explicit Axis(const Line& line) : origin(line.front()) {
    const double dx = line.back().x - line.front().x;
    const double dy = line.back().y - line.front().y;
    const double length = std::max(std::hypot(dx, dy), 1e-9);
    normal = {-dy / length, dx / length};
    for (const Point& p : line) {
      low = std::min(low, offset(p));
      high = std::max(high, offset(p));
    }
  }
  double offset(Point p) const { return (p.x - origin.x) * normal.x + (p.y - origin.y) * normal.y; }
  bool may_meet(const Line& other) const {
    bool all_above = true;
    bool all_below = true;
    for (const Point& p : other) {
      all_above = all_above && offset(p) > high;
      all_below = all_below && offset(p) < low;
    }
    return !all_above && !all_below;
  }
};

Doubts crossings(const LateralSet& set) {
  const std::vector<Lateral>& laterals = set.laterals;
  Doubts doubts;
  std::vector<Axis> axes;
  std::vector<Extent> extents;
  for (const Lateral& lateral : laterals) {
    axes.emplace_back(lateral.line);
    extents.push_back(extent_of(lateral.line));
  }
  for (std::size_t a = 0; a < laterals.size(); ++a) {
    for (std::size_t b = a + 1; b < laterals.size(); ++b) {
      if (!extents[a].intersects(extents[b]) || !axes[a].may_meet(laterals[b].line) ||
          !axes[b].may_meet(laterals[a].line)) {
        continue;
      }
      const auto at = crossing(laterals[a].line, laterals[b].line);
      if (!at) continue;
      doubts.push_back({"laterals_cross", Severity::doubt, set.places[b],
                        fmt::format("laterals {} and {} cross", laterals[a].id, laterals[b].id),
                        fmt::format("at {:.1f} E, {:.1f} N", at->x, at->y),
                        "lines that do not meet",
                        "Check both lines; places near the crossing cannot be told apart"});
    }
  }
  return doubts;
}

struct Draft {
  LateralSet set;
  std::vector<std::string> untold;  ///< ids without a known supply end
};

void add_lateral(Draft& draft, const RoleLayer& layer, const Feature& feature, const Line& line,
                 const std::string& id, const Field& field, Doubts& doubts) {
  if (line.size() < 2 || !(length_m(line) > 0)) {
    doubts.push_back({"lateral_without_length", Severity::problem, layer.place_of(feature),
                      "lateral " + id + " has no length", "0 m", "a line of two or more points",
                      "Draw it again or remove it"});
    return;
  }
  Lateral lateral{id, zone_of(layer, feature, line, id, field.zones, doubts), line, 0, 0};
  if (lateral.zone < 0) return;
  const Direction direction = supply_direction(field, lateral.zone, line);
  if (direction == Direction::reversed) lateral.line = reversed(line);
  if (direction == Direction::not_told) draft.untold.push_back(id);
  draft.set.laterals.push_back(std::move(lateral));
  draft.set.places.push_back(layer.place_of(feature));
}

}  // namespace

LateralSet laterals_from(const RoleLayer& layer, const Field& field, Doubts& doubts) {
  Draft draft;
  const auto ids = feature_ids(layer, "L", Repeats::refused, doubts);
  for (std::size_t i = 0; i < ids.size(); ++i) {
    const Feature& feature = layer.layer.features[i];
    if (feature.lines.empty()) {
      doubts.push_back({"wrong_shape", Severity::problem, layer.place_of(feature),
                        "lateral " + ids[i] + " is no line", "", "a line",
                        "Remove the feature or draw it again"});
    }
    if (feature.lines.size() > 1) {
      doubts.push_back(
          {"lateral_in_parts", Severity::doubt, layer.place_of(feature),
           "lateral " + ids[i] + " has parts that do not join",
           fmt::format("{} parts", feature.lines.size()), "one line",
           fmt::format("Each part counts as a lateral: {}.1, {}.2 ...", ids[i], ids[i])});
    }
    for (std::size_t part = 0; part < feature.lines.size(); ++part) {
      const std::string id =
          feature.lines.size() > 1 ? fmt::format("{}.{}", ids[i], part + 1) : ids[i];
      add_lateral(draft, layer, feature, feature.lines[part], id, field, doubts);
    }
  }
  tell_direction(layer, draft.untold, draft.set.laterals.size(), field, doubts);
  return std::move(draft.set);
}

LateralSet laid_out_laterals(const Field& field, const LayoutRequest& request, Doubts& doubts) {
  LateralSet set;
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    const Zone& zone = field.zones[z];
    LateralLayout layout;
    layout.bearing_deg = request.bearing_deg;
    layout.spacing_m = request.spacing_m.value_or(zone.lateral.spacing_m) * field.scale_factor;
    layout.end_clearance_m = request.end_clearance_m;
    layout.shortest_m = request.shortest_m;
    if (!(layout.spacing_m > 0) || zone.area.empty()) continue;
    const auto lines = lay_out_laterals(zone.area, layout);
    for (std::size_t i = 0; i < lines.size(); ++i) {
      set.places.push_back(request.place);
      set.laterals.push_back(
          {fmt::format("{}-{}", zone.id, i + 1), static_cast<int>(z), lines[i], 0, 0});
    }
    if (lines.empty()) {
      doubts.push_back({"no_room_for_laterals", Severity::problem, request.place,
                        "no lateral could be laid out in zone " + zone.id, "",
                        fmt::format("room for a line of {:g} m", layout.shortest_m),
                        "Check the bearing, the spacing and the zone's outline"});
    }
  }
  return set;
}

LateralSet with_lengths(LateralSet set, const Field& field) {
  for (Lateral& lateral : set.laterals) {
    lateral.length_m = length_m(lateral.line) / field.scale_factor;
    const EmitterSpec& emitter = field.zones[static_cast<std::size_t>(lateral.zone)].emitter;
    // A millimetre of rounding must not cost an emitter.
    const double room = lateral.length_m - emitter.first_offset_m + 0.001;
    const bool has_any = emitter.spacing_m > 0 && room >= 0;
    lateral.emitters = has_any ? static_cast<int>(std::floor(room / emitter.spacing_m)) + 1 : 0;
  }
  return set;
}

Doubts lateral_doubts(const Field& field, const LateralSet& set) {
  Doubts doubts = crossings(set);
  for (std::size_t i = 0; i < set.laterals.size(); ++i) {
    const Lateral& lateral = set.laterals[i];
    const Zone& zone = field.zones[static_cast<std::size_t>(lateral.zone)];
    if (crosses_itself(lateral.line)) {
      doubts.push_back({"lateral_crosses_itself", Severity::doubt, set.places[i],
                        "lateral " + lateral.id + " crosses itself", "", "a line without loops",
                        "Check the line; places near the crossing cannot be told apart"});
    }
    if (lateral.length_m < zone.lateral.spacing_m || lateral.emitters == 0) {
      doubts.push_back(
          {"lateral_too_short", Severity::doubt, set.places[i],
           "lateral " + lateral.id + " is shorter than the spacing of laterals or has no emitter",
           fmt::format("{:.2f} m, {} emitters", lateral.length_m, lateral.emitters),
           fmt::format("at least {:g} m", zone.lateral.spacing_m),
           "Remove it if it is left over from drawing"});
    }
  }
  return doubts;
}

}  // namespace evendrip
