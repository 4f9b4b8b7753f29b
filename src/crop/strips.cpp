// SPDX-License-Identifier: Apache-2.0
#include "strips.hpp"

#include <algorithm>

#include "evendrip/crs/overlay.hpp"
#include "evendrip/geo/coverage.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

bool meets(const Ring& ring, const Extent& extent) {
  for (std::size_t i = 0; i < ring.size(); ++i) {
    Extent edge;
    edge.include(ring[i]);
    edge.include(ring[(i + 1) % ring.size()]);
    if (edge.intersects(extent)) return true;
  }
  return false;
}

/// Certain where true: no edge of the zone comes near.
bool lies_inside(const MultiPolygon& strip, const MultiPolygon& zone) {
  const Extent extent = extent_of(strip);
  for (const Polygon& polygon : zone) {
    if (meets(polygon.outer, extent)) return false;
    for (const Ring& hole : polygon.holes) {
      if (meets(hole, extent)) return false;
    }
  }
  return contains(zone, strip.front().outer.front());
}

}  // namespace

MultiPolygon LateralStrips::along(const Lateral& lateral, const Line& line) const {
  if (lateral.zone < 0 || line.size() < 2) return {};
  const Zone& zone = field_.zones[static_cast<std::size_t>(lateral.zone)];
  if (!(zone.lateral.spacing_m > 0)) return {};
  const double half_width_m = 0.5 * zone.lateral.spacing_m * field_.scale_factor;
  MultiPolygon strip = strip_along(line, half_width_m);
  if (strip.empty() || lies_inside(strip, zone.area)) return strip;
  return intersection_of(strip, zone.area);
}

MultiPolygon LateralStrips::whole(int lateral) const {
  const Lateral& own = field_.laterals[static_cast<std::size_t>(lateral)];
  return along(own, own.line);
}

MultiPolygon LateralStrips::between(int lateral, double from_m, double to_m) const {
  const Lateral& own = field_.laterals[static_cast<std::size_t>(lateral)];
  if (own.line.size() < 2 || !(to_m > from_m)) return {};
  return along(own, part_of(own.line, from_m * field_.scale_factor, to_m * field_.scale_factor));
}

}  // namespace evendrip
