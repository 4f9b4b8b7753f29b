// SPDX-License-Identifier: Apache-2.0
#include "natural_areas.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace evendrip {
namespace {

double cross(Point a, Point b) {
  return a.x * b.y - a.y * b.x;
}

Point minus(Point a, Point b) {
  return {a.x - b.x, a.y - b.y};
}

double square(Point a) {
  return a.x * a.x + a.y * a.y;
}

/// As far from the origin as from a and from b.
Point centre_of_circle(Point a, Point b) {
  const double aa = square(a);
  const double bb = square(b);
  const double twice = 2 * cross(a, b);
  return {(aa * b.y - bb * a.y) / twice, (bb * a.x - aa * b.x) / twice};
}

double area_of(std::span<const Point> polygon) {
  double twice = 0;
  for (std::size_t i = 0; i < polygon.size(); ++i)
    twice += cross(polygon[i], polygon[(i + 1) % polygon.size()]);
  return twice / 2;
}

/// The part of a convex polygon that is nearer to a than to b.
void keep_nearer(Point a, Point b, std::span<const Point> polygon, std::vector<Point>& kept) {
  const Point d = minus(b, a);
  const double half = (square(b) - square(a)) / 2;
  const auto beyond = [&](Point p) { return p.x * d.x + p.y * d.y - half; };
  kept.clear();
  for (std::size_t i = 0; i < polygon.size(); ++i) {
    const Point from = polygon[i];
    const Point to = polygon[(i + 1) % polygon.size()];
    const double f = beyond(from);
    const double t = beyond(to);
    if (f <= 0) kept.push_back(from);
    if ((f < 0 && t > 0) || (f > 0 && t < 0)) {
      const double share = f / (f - t);
      kept.push_back({from.x + share * (to.x - from.x), from.y + share * (to.y - from.y)});
    }
  }
}

}  // namespace

/// The natural neighbours of the origin are the corners of the convex hull of the candidates turned
/// inside out, a / |a|^2: a bisector that bounds the cell is the polar line of such a corner.
bool NaturalAreas::find_neighbours(std::span<const Point> candidates) {
  inverted_.clear();
  for (const Point& a : candidates) inverted_.push_back({a.x / square(a), a.y / square(a)});
  order_.resize(candidates.size());
  std::iota(order_.begin(), order_.end(), std::size_t{0});
  std::sort(order_.begin(), order_.end(), [&](std::size_t a, std::size_t b) {
    const double bearing_a = std::atan2(candidates[a].y, candidates[a].x);
    const double bearing_b = std::atan2(candidates[b].y, candidates[b].x);
    return bearing_a != bearing_b ? bearing_a < bearing_b
                                  : square(candidates[a]) < square(candidates[b]);
  });
  // The nearest is a corner of the hull for certain: go round from there.
  const auto nearest = std::min_element(order_.begin(), order_.end(), [&](auto a, auto b) {
    return square(candidates[a]) < square(candidates[b]);
  });
  std::rotate(order_.begin(), nearest, order_.end());
  order_.push_back(order_.front());
  neighbours_.clear();
  for (const std::size_t next : order_) {
    while (neighbours_.size() >= 2) {
      const Point& last = inverted_[neighbours_.back()];
      const Point& before = inverted_[neighbours_[neighbours_.size() - 2]];
      if (cross(minus(last, before), minus(inverted_[next], last)) > 0) break;
      neighbours_.pop_back();
    }
    neighbours_.push_back(next);
  }
  neighbours_.pop_back();
  if (neighbours_.size() < 3) return false;
  for (std::size_t i = 0; i < neighbours_.size(); ++i) {
    const std::size_t next = neighbours_[(i + 1) % neighbours_.size()];
    if (!(cross(candidates[neighbours_[i]], candidates[next]) > 0)) return false;
  }
  return true;
}

void NaturalAreas::outline_cell(std::span<const Point> candidates) {
  cell_.clear();
  for (std::size_t i = 0; i < neighbours_.size(); ++i) {
    const std::size_t next = neighbours_[(i + 1) % neighbours_.size()];
    cell_.push_back(centre_of_circle(candidates[neighbours_[i]], candidates[next]));
  }
}

double NaturalAreas::area_nearest_to(std::span<const Point> candidates, std::size_t neighbour) {
  part_ = cell_;
  for (const std::size_t other : neighbours_) {
    if (other == neighbour) continue;
    keep_nearer(candidates[neighbour], candidates[other], part_, cut_);
    std::swap(part_, cut_);
    if (part_.empty()) return 0;
  }
  return area_of(part_);
}

std::optional<std::span<const double>> NaturalAreas::at_origin(std::span<const Point> candidates) {
  if (candidates.size() < 3 || !find_neighbours(candidates)) return std::nullopt;
  outline_cell(candidates);
  areas_.assign(candidates.size(), 0);
  for (const std::size_t neighbour : neighbours_)
    areas_[neighbour] = std::max(0.0, area_nearest_to(candidates, neighbour));
  return std::span<const double>(areas_);
}

}  // namespace evendrip
