// SPDX-License-Identifier: Apache-2.0
#include "evendrip/repairs/visits.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>
#include <string_view>

#include <fmt/format.h>

#include "evendrip/crs/overlay.hpp"
#include "evendrip/geo/line.hpp"
#include "evendrip/repairs/route.hpp"

namespace evendrip {
namespace {

constexpr std::size_t most_visits = 99;  // so that "R99A99" has six characters
constexpr std::size_t longest_name = 6;

struct OnLateral {
  int lateral = -1;
  int emitter = 0;  ///< to count from the supply end, 0 if the spacing is not known
  double station_m = 0;
  Point place;
};

double distance_to(const Hazard& hazard, Point p) {
  if (contains(hazard.area, p)) return 0;
  double nearest = std::numeric_limits<double>::infinity();
  for (const Point& point : hazard.points) nearest = std::min(nearest, distance_m(point, p));
  for (const Line& line : hazard.lines) {
    nearest = std::min(nearest, project_onto(line, p).distance_m);
  }
  const auto along_ring = [&](Ring ring) {
    if (ring.empty()) return;
    ring.push_back(ring.front());
    nearest = std::min(nearest, project_onto(ring, p).distance_m);
  };
  for (const Polygon& polygon : hazard.area) {
    along_ring(polygon.outer);
    for (const Ring& hole : polygon.holes) along_ring(hole);
  }
  return nearest;
}

bool too_near(const Field& field, const Hazard& hazard, Point place) {
  return distance_to(hazard, place) <= hazard.clearance_m * field.scale_factor;
}

bool keeps_clear(const Field& field, Point place) {
  return std::none_of(field.hazards.begin(), field.hazards.end(),
                      [&](const Hazard& hazard) { return too_near(field, hazard, place); });
}

bool near_finding(const Lateral& lateral, const Finding& finding) {
  return lateral.line.size() >= 2 && extent_of(lateral.line).intersects(extent_of(finding.outline));
}

/// The point of the laterals inside the finding that is nearest to its middle.
std::optional<OnLateral> nearest_inside(const Field& field, const Finding& finding,
                                        std::optional<int> zone) {
  std::optional<OnLateral> best;
  double best_m = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if ((zone && lateral.zone != *zone) || !near_finding(lateral, finding)) continue;
    for (const Line& part : inside_parts(lateral.line, finding.outline)) {
      const Projection nearest = project_onto(part, finding.label);
      if (nearest.distance_m >= best_m) continue;
      best_m = nearest.distance_m;
      best = OnLateral{static_cast<int>(i), 0, 0, nearest.foot};
    }
  }
  return best;
}

/// Station on the ground and the nearest emitter; stands at the emitter if that is inside too.
OnLateral at_emitter(const Field& field, const Finding& finding, OnLateral spot) {
  const Lateral& lateral = field.laterals[static_cast<std::size_t>(spot.lateral)];
  spot.station_m = project_onto(lateral.line, spot.place).station_m / field.scale_factor;
  if (lateral.zone < 0) return spot;
  const EmitterSpec& spec = field.zones[static_cast<std::size_t>(lateral.zone)].emitter;
  if (!(spec.spacing_m > 0) || lateral.emitters < 1) return spot;
  const double steps = std::round((spot.station_m - spec.first_offset_m) / spec.spacing_m);
  spot.emitter =
      static_cast<int>(std::clamp(steps + 1, 1.0, static_cast<double>(lateral.emitters)));
  const double station_m = emitter_station_m(spec, spot.emitter);
  const Point place = place_on_lateral(field, spot.lateral, station_m);
  if (!contains(finding.outline, place)) return spot;
  spot.station_m = station_m;
  spot.place = place;
  return spot;
}

/// Of the emitters of one lateral inside the finding and clear of every hazard, the nearest to the
/// middle, if it is nearer than `best`.
void take_clear_emitter(const Field& field, const Finding& finding, int index,
                        std::optional<OnLateral>& best) {
  const Lateral& lateral = field.laterals[static_cast<std::size_t>(index)];
  const EmitterSpec& spec = field.zones[static_cast<std::size_t>(lateral.zone)].emitter;
  for (int emitter = 1; emitter <= lateral.emitters; ++emitter) {
    const double station_m = emitter_station_m(spec, emitter);
    const Point place = place_on_lateral(field, index, station_m);
    const bool nearer =
        !best || distance_m(place, finding.label) < distance_m(best->place, finding.label);
    if (!nearer || !contains(finding.outline, place) || !keeps_clear(field, place)) continue;
    best = OnLateral{index, emitter, station_m, place};
  }
}

std::optional<OnLateral> clear_emitter(const Field& field, const Finding& finding) {
  std::optional<OnLateral> best;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if (lateral.zone < 0 || lateral.zone != finding.zone) continue;
    if (near_finding(lateral, finding)) {
      take_clear_emitter(field, finding, static_cast<int>(i), best);
    }
  }
  return best;
}

/// Where to stand; away from hazards if an emitter inside the finding is.
std::optional<OnLateral> spot_of(const Field& field, const Finding& finding) {
  std::optional<OnLateral> spot;
  if (finding.zone >= 0) spot = nearest_inside(field, finding, finding.zone);
  if (!spot) spot = nearest_inside(field, finding, std::nullopt);
  if (!spot) return spot;
  spot = at_emitter(field, finding, *spot);
  if (keeps_clear(field, spot->place)) return spot;
  const std::optional<OnLateral> clear = clear_emitter(field, finding);
  return clear ? clear : spot;
}

std::string where_text(const Field& field, const OnLateral& spot) {
  const std::string& lateral = field.laterals[static_cast<std::size_t>(spot.lateral)].id;
  const std::string station =
      format_quantity(spot.station_m, Dimension::length, field.report_units, 4);
  if (spot.emitter == 0) {
    return fmt::format("lateral {}, {} from its supply end", lateral, station);
  }
  return fmt::format("emitter {} of lateral {}, counted from its supply end ({} along it)",
                     spot.emitter, lateral, station);
}

std::string task_for(const Field& field, FindingKind kind, const std::optional<OnLateral>& spot) {
  const std::string where =
      spot ? where_text(field, *spot) : "this place (no lateral is known inside it)";
  switch (kind) {
    case FindingKind::both_low:
      return fmt::format(
          "Dig at {}: catch its flow and that of a neighbour, note the pressure, and look for "
          "plugging, a pinched line or roots.",
          where);
    case FindingKind::water_low:
      return fmt::format(
          "Measure again at {}, and one more emitter close by, before anything is mended.", where);
    case FindingKind::crop_low:
      return fmt::format(
          "Look at {} without digging first: soil, pests, disease, fertility, wheel tracks; the "
          "water mapped there is not low.",
          where);
    case FindingKind::none:
      break;
  }
  return fmt::format("Look at {}.", where);
}

std::string caution_at(const Field& field, Point place) {
  std::string text;
  for (const Hazard& hazard : field.hazards) {
    if (!too_near(field, hazard, place)) continue;
    text +=
        fmt::format("DO NOT DIG HERE: within the clearance ({}) of {}. ",
                    format_quantity(hazard.clearance_m, Dimension::length, field.report_units, 3),
                    hazard.kind.empty() ? "a hazard" : hazard.kind);
  }
  return text +
         "Before any digging have buried power, gas, telephone and water lines located and marked. "
         "The lateral may be under pressure and the water may carry chemicals: shut the zone off, "
         "release the pressure, and learn what was injected last. Dig by hand near the lateral. "
         "Local codes and licensed practice come first.";
}

/// "R01A1": place in the walk and the finding; shortened where the finding's id is long.
std::string visit_name(std::size_t position, const std::string& finding_id) {
  return fmt::format("R{:02}{}", position, finding_id).substr(0, longest_name);
}

Visit visit_to(const Field& field, const Findings& findings, int finding_index) {
  const Finding& finding = findings.list[static_cast<std::size_t>(finding_index)];
  Visit visit;
  visit.finding = finding_index;
  visit.place = finding.label;
  const std::optional<OnLateral> spot = spot_of(field, finding);
  if (spot) {
    visit.place = spot->place;
    visit.lateral = spot->lateral;
    visit.station_m = spot->station_m;
  }
  visit.task = task_for(field, finding.kind, spot);
  visit.caution = caution_at(field, visit.place);
  return visit;
}

/// Indices of the findings, most urgent first, larger first, then as listed.
std::vector<int> by_urgency(const Findings& findings) {
  std::vector<int> order(findings.list.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = static_cast<int>(i);
  std::stable_sort(order.begin(), order.end(), [&](int a, int b) {
    const Finding& first = findings.list[static_cast<std::size_t>(a)];
    const Finding& second = findings.list[static_cast<std::size_t>(b)];
    if (first.kind != second.kind) return first.kind < second.kind;
    return first.area_ha > second.area_ha;
  });
  return order;
}

}  // namespace

Point walk_start(const Field& field) {
  constexpr std::array<std::string_view, 8> downstream = {
      "pump",     "filter_in", "filter_out", "main",
      "valve_in", "valve_out", "zone_inlet", "lateral_inlet"};
  for (const std::string_view kind : downstream) {
    for (const Port& port : field.ports) {
      if (port.kind == kind) return port.place;
    }
  }
  for (const Manifold& manifold : field.manifolds) {
    if (manifold.supply && !manifold.line.empty()) return manifold.line.front();
  }
  const Extent extent = field.extent();
  return extent.empty() ? Point{} : Point{extent.x_min, extent.y_min};
}

VisitPlan plan_visits(const Field& field, const Findings& findings) {
  std::vector<int> chosen = by_urgency(findings);
  VisitPlan plan;
  if (chosen.size() > most_visits) {
    plan.left_out = static_cast<int>(chosen.size() - most_visits);
    chosen.resize(most_visits);
  }
  std::vector<Visit> unordered;
  std::vector<Point> places;
  for (const int finding : chosen) {
    unordered.push_back(visit_to(field, findings, finding));
    places.push_back(unordered.back().place);
  }
  Line walk;
  for (const int i : walking_order(walk_start(field), places)) {
    Visit& visit = plan.visits.emplace_back(unordered[static_cast<std::size_t>(i)]);
    visit.name =
        visit_name(plan.visits.size(), findings.list[static_cast<std::size_t>(visit.finding)].id);
    walk.push_back(visit.place);
  }
  if (walk.size() > 1) plan.walk_m = ground_length_m(field.crs, walk);
  return plan;
}

std::vector<Waypoint> waypoints(const Field& field, const Findings& findings,
                                const VisitPlan& plan) {
  std::vector<Waypoint> result;
  if (plan.visits.empty()) return result;
  const Transform to_lonlat(field.crs, wgs84());
  for (const Visit& visit : plan.visits) {
    const Finding& finding = findings.list[static_cast<std::size_t>(visit.finding)];
    Waypoint waypoint;
    waypoint.lonlat = to_lonlat(visit.place);
    waypoint.name = visit.name;
    waypoint.description =
        fmt::format("{}: {}, {}. {} CAUTION: {}", finding.id, to_text(finding.kind),
                    format_quantity(finding.area_ha, Dimension::area, field.report_units, 2),
                    visit.task, visit.caution);
    waypoint.kind = to_text(finding.kind);
    result.push_back(waypoint);
  }
  return result;
}

}  // namespace evendrip
