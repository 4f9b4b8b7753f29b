// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/shapes.hpp"

#include <algorithm>
#include <cmath>
#include <queue>

namespace evendrip {
namespace {

/// Twice the signed area, about the first vertex so that large coordinates cost no digits.
double twice_signed_area(const Ring& ring) {
  double sum = 0;
  for (std::size_t i = 1; i + 1 < ring.size(); ++i) {
    const double ax = ring[i].x - ring[0].x;
    const double ay = ring[i].y - ring[0].y;
    const double bx = ring[i + 1].x - ring[0].x;
    const double by = ring[i + 1].y - ring[0].y;
    sum += ax * by - bx * ay;
  }
  return sum;
}

enum class Side { outside, boundary, inside };

/// Crossing count of the ray towards +x; boundary where the cross product is exactly 0.
Side side_of(const Ring& ring, Point p) {
  bool inside = false;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Point a = ring[i];
    const Point b = ring[(i + 1) % ring.size()];
    const double cross = (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x);
    const bool in_box = std::min(a.x, b.x) <= p.x && p.x <= std::max(a.x, b.x) &&
                        std::min(a.y, b.y) <= p.y && p.y <= std::max(a.y, b.y);
    if (cross == 0 && in_box) return Side::boundary;
    if ((a.y > p.y) != (b.y > p.y) && (cross > 0) == (b.y > a.y)) inside = !inside;
  }
  return inside ? Side::inside : Side::outside;
}

bool contains(const Polygon& polygon, Point p) {
  const Side outer = side_of(polygon.outer, p);
  if (outer != Side::inside) return outer == Side::boundary;
  return std::none_of(polygon.holes.begin(), polygon.holes.end(),
                      [p](const Ring& hole) { return side_of(hole, p) == Side::inside; });
}

double distance2_to_segment(Point a, Point b, Point p) {
  const double dx = b.x - a.x;
  const double dy = b.y - a.y;
  const double length2 = dx * dx + dy * dy;
  const double along = length2 > 0 ? ((p.x - a.x) * dx + (p.y - a.y) * dy) / length2 : 0;
  const double t = std::clamp(along, 0.0, 1.0);
  const double ex = p.x - (a.x + t * dx);
  const double ey = p.y - (a.y + t * dy);
  return ex * ex + ey * ey;
}

double distance2_to_ring(const Ring& ring, Point p) {
  double best = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < ring.size(); ++i) {
    best = std::min(best, distance2_to_segment(ring[i], ring[(i + 1) % ring.size()], p));
  }
  return best;
}

/// Distance to the edge, positive inside.
double depth_inside(const Polygon& polygon, Point p) {
  double best = distance2_to_ring(polygon.outer, p);
  for (const Ring& hole : polygon.holes) best = std::min(best, distance2_to_ring(hole, p));
  return contains(polygon, p) ? std::sqrt(best) : -std::sqrt(best);
}

struct Square {
  Point centre;
  double half = 0;
  double depth = 0;
  double bound() const { return depth + half * std::sqrt(2.0); }
};

struct LessPromising {
  bool operator()(const Square& a, const Square& b) const {
    if (a.bound() != b.bound()) return a.bound() < b.bound();
    if (a.centre.y != b.centre.y) return a.centre.y < b.centre.y;
    return a.centre.x > b.centre.x;
  }
};

Extent extent_of(const Ring& ring, Extent extent) {
  for (const Point p : ring) extent.include(p);
  return extent;
}

/// Squares are split while they may hold a point deeper than the best by a hundredth of the size.
Square deepest_square(const Polygon& polygon) {
  const Extent extent = extent_of(polygon.outer, Extent{});
  const double side = std::max(extent.width(), extent.height());
  const auto square = [&](double x, double y, double half) {
    return Square{{x, y}, half, depth_inside(polygon, {x, y})};
  };
  Square best =
      square(extent.x_min + extent.width() / 2, extent.y_min + extent.height() / 2, side / 2);
  std::priority_queue<Square, std::vector<Square>, LessPromising> queue;
  queue.push(best);
  const double precision = side / 100;
  // A shape thinner than the precision still needs a point inside it, hence the second condition.
  for (int split = 0; !queue.empty() && split < 5000; ++split) {
    const Square top = queue.top();
    queue.pop();
    if (best.depth > 0 && top.bound() <= best.depth + precision) break;
    const double half = top.half / 2;
    for (const double sx : {-1.0, 1.0}) {
      for (const double sy : {-1.0, 1.0}) {
        const Square part = square(top.centre.x + sx * half, top.centre.y + sy * half, half);
        if (part.depth > best.depth) best = part;
        if (part.bound() > best.depth) queue.push(part);
      }
    }
  }
  return best;
}

}  // namespace

void Extent::include(Point p) {
  x_min = std::min(x_min, p.x);
  y_min = std::min(y_min, p.y);
  x_max = std::max(x_max, p.x);
  y_max = std::max(y_max, p.y);
}

void Extent::include(const Extent& other) {
  if (other.empty()) return;
  include(Point{other.x_min, other.y_min});
  include(Point{other.x_max, other.y_max});
}

Extent Extent::grown(double margin_m) const {
  if (empty()) return *this;
  return {x_min - margin_m, y_min - margin_m, x_max + margin_m, y_max + margin_m};
}

bool Extent::contains(Point p) const {
  return p.x >= x_min && p.x <= x_max && p.y >= y_min && p.y <= y_max;
}

bool Extent::intersects(const Extent& other) const {
  return !empty() && !other.empty() && x_min <= other.x_max && other.x_min <= x_max &&
         y_min <= other.y_max && other.y_min <= y_max;
}

Extent extent_of(const Line& line) {
  return extent_of(line, Extent{});
}

Extent extent_of(const MultiPolygon& shape) {
  Extent extent;
  for (const Polygon& polygon : shape) extent = extent_of(polygon.outer, extent);
  return extent;
}

double distance_m(Point a, Point b) {
  return std::hypot(b.x - a.x, b.y - a.y);
}

double area_m2(const Polygon& polygon) {
  double twice = std::abs(twice_signed_area(polygon.outer));
  for (const Ring& hole : polygon.holes) twice -= std::abs(twice_signed_area(hole));
  return twice / 2;
}

double area_m2(const MultiPolygon& shape) {
  double sum = 0;
  for (const Polygon& polygon : shape) sum += area_m2(polygon);
  return sum;
}

bool contains(const MultiPolygon& shape, Point p) {
  return std::any_of(shape.begin(), shape.end(),
                     [p](const Polygon& polygon) { return contains(polygon, p); });
}

Point label_point(const MultiPolygon& shape) {
  Square best;
  best.depth = -std::numeric_limits<double>::infinity();
  for (const Polygon& polygon : shape) {
    if (polygon.outer.empty()) continue;
    const Square here = deepest_square(polygon);
    if (here.depth > best.depth) best = here;
  }
  return best.centre;
}

}  // namespace evendrip
