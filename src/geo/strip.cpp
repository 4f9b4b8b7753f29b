// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include "evendrip/geo/coverage.hpp"

namespace evendrip {
namespace {

/// A joint sharper than this many half widths is cut straight instead of drawn to its point.
constexpr double mitre_limit = 4;

Point unit_direction(Point a, Point b) {
  const double length = distance_m(a, b);
  return {(b.x - a.x) / length, (b.y - a.y) / length};
}

/// Vertices of the parallel line on the left at `offset`, in the order of travel.
void add_side(const Line& line, double offset, Ring& ring) {
  const auto shifted = [offset](Point p, Point direction) {
    return Point{p.x - offset * direction.y, p.y + offset * direction.x};
  };
  const std::size_t last = line.size() - 1;
  ring.push_back(shifted(line[0], unit_direction(line[0], line[1])));
  for (std::size_t i = 1; i < last; ++i) {
    const Point in = unit_direction(line[i - 1], line[i]);
    const Point out = unit_direction(line[i], line[i + 1]);
    // The mitre lies along the sum of both normals; its length is offset / cos(half the turn).
    const double cos2 = (1 + in.x * out.x + in.y * out.y) / 2;
    if (cos2 * mitre_limit * mitre_limit < 1) {
      ring.push_back(shifted(line[i], in));
      ring.push_back(shifted(line[i], out));
    } else {
      const Point mean{(in.x + out.x) / 2 / cos2, (in.y + out.y) / 2 / cos2};
      ring.push_back(shifted(line[i], mean));
    }
  }
  ring.push_back(shifted(line[last], unit_direction(line[last - 1], line[last])));
}

}  // namespace

MultiPolygon strip_along(const Line& line, double half_width_m) {
  Line clean;
  for (const Point p : line) {
    if (clean.empty() || distance_m(clean.back(), p) > 0) clean.push_back(p);
  }
  if (clean.size() < 2 || !(half_width_m > 0)) return {};
  Polygon strip;
  // Right side out, then the left side back: counter-clockwise.
  add_side(clean, -half_width_m, strip.outer);
  std::reverse(clean.begin(), clean.end());
  add_side(clean, -half_width_m, strip.outer);
  return {strip};
}

}  // namespace evendrip
