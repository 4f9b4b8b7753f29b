// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/line.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace evendrip {
namespace {

/// Crossings nearer than this to an end of either line are joints, not crossings.
constexpr double joint_m = 1e-6;

struct Located {
  std::size_t segment = 0;  ///< from vertex `segment` to the next
  double share = 0;         ///< along it, 0 to 1
};

Located locate(const Line& line, double station_m) {
  double start = 0;
  std::size_t last = 0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const double length = distance_m(line[i], line[i + 1]);
    if (length <= 0) continue;
    if (station_m < start + length) return {i, std::max(0.0, (station_m - start) / length)};
    start += length;
    last = i;
  }
  return {last, 1};
}

Point between(Point a, Point b, double share) {
  return {a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)};
}

double cross(Point origin, Point a, Point b) {
  return (a.x - origin.x) * (b.y - origin.y) - (a.y - origin.y) * (b.x - origin.x);
}

bool in_box(Point a, Point b, Point p) {
  return std::min(a.x, b.x) <= p.x && p.x <= std::max(a.x, b.x) && std::min(a.y, b.y) <= p.y &&
         p.y <= std::max(a.y, b.y);
}

bool boxes_apart(Point a, Point b, Point c, Point d) {
  return std::max(a.x, b.x) < std::min(c.x, d.x) || std::max(c.x, d.x) < std::min(a.x, b.x) ||
         std::max(a.y, b.y) < std::min(c.y, d.y) || std::max(c.y, d.y) < std::min(a.y, b.y);
}

bool opposite(double a, double b) {
  return (a > 0 && b < 0) || (a < 0 && b > 0);
}

/// Points that two segments share: the crossing, or the ends of one that lie on the other.
std::vector<Point> shared_points(Point a, Point b, Point c, Point d) {
  if (boxes_apart(a, b, c, d)) return {};
  const double c_side = cross(a, b, c);
  const double d_side = cross(a, b, d);
  const double a_side = cross(c, d, a);
  const double b_side = cross(c, d, b);
  if (opposite(c_side, d_side) && opposite(a_side, b_side)) {
    return {between(a, b, a_side / (a_side - b_side))};
  }
  std::vector<Point> shared;
  if (a_side == 0 && in_box(c, d, a)) shared.push_back(a);
  if (b_side == 0 && in_box(c, d, b)) shared.push_back(b);
  if (c_side == 0 && in_box(a, b, c)) shared.push_back(c);
  if (d_side == 0 && in_box(a, b, d)) shared.push_back(d);
  return shared;
}

Line without_repeats(const Line& line) {
  Line out;
  for (const Point p : line) {
    if (out.empty() || !(out.back() == p)) out.push_back(p);
  }
  return out;
}

bool at_an_end(const Line& line, Point p) {
  return distance_m(line.front(), p) <= joint_m || distance_m(line.back(), p) <= joint_m;
}

/// Where segment `i` of a meets b, ends of either line left aside.
std::vector<Point> crossings_of_segment(const Line& a, std::size_t i, const Line& b) {
  std::vector<Point> found;
  for (std::size_t j = 0; j + 1 < b.size(); ++j) {
    for (const Point p : shared_points(a[i], a[i + 1], b[j], b[j + 1])) {
      if (!at_an_end(a, p) && !at_an_end(b, p)) found.push_back(p);
    }
  }
  return found;
}

}  // namespace

double length_m(const Line& line) {
  double sum = 0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) sum += distance_m(line[i], line[i + 1]);
  return sum;
}

Point point_at(const Line& line, double station_m) {
  if (line.empty()) return {};
  if (line.size() == 1 || station_m <= 0) return line.front();
  const Located at = locate(line, station_m);
  if (at.share >= 1) return line.back();
  return between(line[at.segment], line[at.segment + 1], at.share);
}

Point direction_at(const Line& line, double station_m) {
  if (line.size() < 2) return {};
  const Located at = locate(line, station_m);
  const Point a = line[at.segment];
  const Point b = line[at.segment + 1];
  const double length = distance_m(a, b);
  if (length <= 0) return {};
  return {(b.x - a.x) / length, (b.y - a.y) / length};
}

Projection project_onto(const Line& line, Point p) {
  Projection best;
  best.distance_m = std::numeric_limits<double>::infinity();
  if (line.size() == 1) return {0, distance_m(line.front(), p), line.front()};
  double start = 0;
  for (std::size_t i = 0; i + 1 < line.size(); ++i) {
    const Point a = line[i];
    const Point b = line[i + 1];
    const double length = distance_m(a, b);
    const double along =
        length > 0 ? ((p.x - a.x) * (b.x - a.x) + (p.y - a.y) * (b.y - a.y)) / (length * length)
                   : 0;
    const double share = std::clamp(along, 0.0, 1.0);
    const Point foot = share >= 1 ? b : between(a, b, share);
    const double distance = distance_m(p, foot);
    if (distance < best.distance_m) best = {start + share * length, distance, foot};
    start += length;
  }
  return best;
}

Line reversed(const Line& line) {
  return {line.rbegin(), line.rend()};
}

Line part_of(const Line& line, double from_m, double to_m) {
  const double from = std::max(from_m, 0.0);
  const double to = std::min(to_m, length_m(line));
  if (line.size() < 2 || !(from < to)) return {};
  Line part{point_at(line, from)};
  double station = 0;
  for (std::size_t i = 1; i + 1 < line.size(); ++i) {
    station += distance_m(line[i - 1], line[i]);
    if (station > from && station < to) part.push_back(line[i]);
  }
  part.push_back(point_at(line, to));
  return without_repeats(part);
}

double bearing_deg(const Line& line) {
  if (line.size() < 2) return 0;
  const double dx = line.back().x - line.front().x;
  const double dy = line.back().y - line.front().y;
  const double bearing = std::atan2(dx, dy) * 180 / std::numbers::pi;
  return bearing < 0 ? bearing + 360 : bearing;
}

bool crosses_itself(const Line& line) {
  const Line clean = without_repeats(line);
  for (std::size_t i = 0; i + 1 < clean.size(); ++i) {
    for (std::size_t j = i + 1; j + 1 < clean.size(); ++j) {
      for (const Point p : shared_points(clean[i], clean[i + 1], clean[j], clean[j + 1])) {
        const bool joint = j == i + 1 && p == clean[j];
        if (!joint) return true;
      }
    }
  }
  return false;
}

std::optional<Point> crossing(const Line& a, const Line& b) {
  if (a.size() < 2 || b.size() < 2 || !extent_of(a).intersects(extent_of(b))) return {};
  for (std::size_t i = 0; i + 1 < a.size(); ++i) {
    const std::vector<Point> found = crossings_of_segment(a, i, b);
    if (found.empty()) continue;
    return *std::min_element(found.begin(), found.end(), [start = a[i]](Point p, Point q) {
      return distance_m(start, p) < distance_m(start, q);
    });
  }
  return {};
}

}  // namespace evendrip
