// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "evendrip/base/error.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

constexpr double most_lines = 1e6;

/// Axes of the layout about a local origin: `along` the flow, `across` to the right of it.
class FlowFrame {
 public:
  FlowFrame(Point origin, double bearing_deg) : origin_(origin) {
    const double bearing = bearing_deg * std::numbers::pi / 180;
    sin_ = std::sin(bearing);
    cos_ = std::cos(bearing);
  }
  /// x: along, y: across.
  Point to_local(Point p) const {
    const double dx = p.x - origin_.x;
    const double dy = p.y - origin_.y;
    return {dx * sin_ + dy * cos_, dx * cos_ - dy * sin_};
  }
  Point to_field(double along, double across) const {
    return {origin_.x + along * sin_ + across * cos_, origin_.y + along * cos_ - across * sin_};
  }

 private:
  Point origin_;
  double sin_ = 0;
  double cos_ = 1;
};

struct Span {
  double from = 0;
  double to = 0;
};

void add_crossings(const Ring& ring, double across, std::vector<double>& crossings) {
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Point a = ring[i];
    const Point b = ring[(i + 1) % ring.size()];
    // Half open: a vertex on the line counts for one of its two edges only.
    if ((a.y <= across) == (b.y <= across)) continue;
    crossings.push_back(a.x + (across - a.y) / (b.y - a.y) * (b.x - a.x));
  }
}

/// Where the line at `across` runs inside the shape; spans that touch are one.
std::vector<Span> spans_inside(const MultiPolygon& local, double across) {
  std::vector<Span> spans;
  std::vector<double> crossings;
  for (const Polygon& polygon : local) {
    crossings.clear();
    add_crossings(polygon.outer, across, crossings);
    for (const Ring& hole : polygon.holes) add_crossings(hole, across, crossings);
    std::sort(crossings.begin(), crossings.end());
    for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) {
      spans.push_back({crossings[i], crossings[i + 1]});
    }
  }
  std::sort(spans.begin(), spans.end(), [](Span a, Span b) { return a.from < b.from; });
  constexpr double touching_m = 1e-6;
  std::vector<Span> merged;
  for (const Span span : spans) {
    if (!merged.empty() && span.from <= merged.back().to + touching_m) {
      merged.back().to = std::max(merged.back().to, span.to);
    } else {
      merged.push_back(span);
    }
  }
  return merged;
}

Ring to_local(const FlowFrame& frame, const Ring& ring) {
  Ring local;
  local.reserve(ring.size());
  for (const Point p : ring) local.push_back(frame.to_local(p));
  return local;
}

MultiPolygon to_local(const FlowFrame& frame, const MultiPolygon& shape) {
  MultiPolygon local;
  for (const Polygon& polygon : shape) {
    Polygon part{to_local(frame, polygon.outer), {}};
    for (const Ring& hole : polygon.holes) part.holes.push_back(to_local(frame, hole));
    local.push_back(std::move(part));
  }
  return local;
}

void refuse_if_senseless(const LateralLayout& layout, double width_m) {
  const bool lengths_fit = layout.end_clearance_m >= 0 && layout.shortest_m >= 0;
  if (layout.spacing_m > 0 && std::isfinite(layout.bearing_deg) && lengths_fit &&
      width_m / layout.spacing_m <= most_lines) {
    return;
  }
  throw InputError(Doubt{"bad_lateral_layout",
                         Severity::problem,
                         {"", "lateral_layout", 0, ""},
                         "laterals cannot be laid out with these values",
                         "spacing " + std::to_string(layout.spacing_m) + " m, clearance " +
                             std::to_string(layout.end_clearance_m) + " m over a width of " +
                             std::to_string(width_m) + " m",
                         "a spacing above 0 that gives at most a million lines, lengths not "
                         "negative",
                         "Correct the bearing, spacing or clearance"});
}

}  // namespace

std::vector<Line> lay_out_laterals(const MultiPolygon& zone, const LateralLayout& layout) {
  const Extent extent = extent_of(zone);
  if (extent.empty()) return {};
  const FlowFrame frame({extent.x_min, extent.y_min}, layout.bearing_deg);
  const MultiPolygon local = to_local(frame, zone);
  const Extent reach = extent_of(local);
  refuse_if_senseless(layout, reach.height());
  std::vector<Line> lines;
  for (int k = 0;; ++k) {
    const double across = reach.y_min + (k + 0.5) * layout.spacing_m;
    if (across >= reach.y_max) break;
    for (const Span span : spans_inside(local, across)) {
      const double from = span.from + layout.end_clearance_m;
      const double to = span.to - layout.end_clearance_m;
      if (!(to > from) || to - from < layout.shortest_m) continue;
      lines.push_back({frame.to_field(from, across), frame.to_field(to, across)});
    }
  }
  return lines;
}

}  // namespace evendrip
