// SPDX-License-Identifier: Apache-2.0
// Linear reference: stations along a line, measured from its first point.
#pragma once

#include <optional>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

double length_m(const Line& line);

/// Point at a station; stations outside 0..length are clamped to the ends.
Point point_at(const Line& line, double station_m);

/// Unit direction (dx, dy) of travel at a station.
Point direction_at(const Line& line, double station_m);

struct Projection {
  double station_m = 0;   ///< of the nearest point on the line
  double distance_m = 0;  ///< from the point to it, not negative
  Point foot;
};

/// Nearest point of the line; of several equally near the one with the smallest station.
Projection project_onto(const Line& line, Point p);

Line reversed(const Line& line);

/// Part between two stations, from < to; both clamped.
Line part_of(const Line& line, double from_m, double to_m);

/// Bearing of the straight line from first to last point, degrees clockwise from grid north, 0-360.
double bearing_deg(const Line& line);

/// True where the line crosses or touches itself other than at consecutive vertices.
bool crosses_itself(const Line& line);

/// First point along `a` that the interiors of two lines share, if any; within 1e-6 m of an end of
/// either line it is a joint and does not count.
std::optional<Point> crossing(const Line& a, const Line& b);

/// Laterals laid out where no layer has them: parallel lines of the given bearing, `spacing_m`
/// apart, cut to the zone; each starts at the supply end (so that travel along `bearing_deg` leads
/// away from the supply). The first line lies half a spacing inside the zone's edge. Pieces shorter
/// than `shortest_m` are left out. In order from the left of the flow to its right. Throws
/// InputError
/// ("bad_lateral_layout") for a spacing not above 0 or more than a million lines.
struct LateralLayout {
  double bearing_deg = 0;  ///< direction of flow, clockwise from grid north
  double spacing_m = 1;
  double shortest_m = 5;
  double end_clearance_m = 0;  ///< kept free at both ends
};
std::vector<Line> lay_out_laterals(const MultiPolygon& zone, const LateralLayout& layout);

}  // namespace evendrip
