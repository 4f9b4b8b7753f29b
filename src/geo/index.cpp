// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/index.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <boost/geometry/geometries/box.hpp>
#include <boost/geometry/geometries/point.hpp>
#include <boost/geometry/index/rtree.hpp>
#include <boost/geometry/strategies/strategies.hpp>

namespace evendrip {
namespace {

namespace bg = boost::geometry;
namespace bgi = boost::geometry::index;
using TreePoint = bg::model::point<double, 2, bg::cs::cartesian>;
using TreeBox = bg::model::box<TreePoint>;
using Entry = std::pair<TreeBox, int>;  ///< box of one segment, index of its line

constexpr double piece_spacings = 4;  ///< long segments have boxes of pieces, in spacings
constexpr double most_pieces = 1000;  ///< of one segment

struct Segment {
  Point a;
  Point b;
  int line = 0;
};

/// Boxes of pieces of a segment, none longer than `longest_m` if that takes not too many of them: a
/// box about a slanting segment holds much that is far from it.
void add_boxes(const Segment& s, double longest_m, std::vector<Entry>& entries) {
  const double ratio = distance_m(s.a, s.b) / longest_m;
  const int pieces = ratio > 1 ? static_cast<int>(std::ceil(std::min(ratio, most_pieces))) : 1;
  Point from = s.a;
  for (int k = 1; k <= pieces; ++k) {
    const double part = static_cast<double>(k) / pieces;
    const Point to =
        k == pieces ? s.b : Point{s.a.x + part * (s.b.x - s.a.x), s.a.y + part * (s.b.y - s.a.y)};
    const auto [x_min, x_max] = std::minmax(from.x, to.x);
    const auto [y_min, y_max] = std::minmax(from.y, to.y);
    entries.emplace_back(TreeBox({x_min, y_min}, {x_max, y_max}), s.line);
    from = to;
  }
}

std::vector<Segment> segments_of(std::span<const Line> lines) {
  std::vector<Segment> segments;
  for (std::size_t i = 0; i < lines.size(); ++i)
    for (std::size_t k = 0; k + 1 < lines[i].size(); ++k)
      segments.push_back({lines[i][k], lines[i][k + 1], static_cast<int>(i)});
  return segments;
}

/// Between lines side by side, roughly: ground about all of them over their length, if that is less
/// than between segments that lie anywhere. 0 where there is nothing to tell it by.
double spacing_of(const std::vector<Segment>& segments) {
  Extent extent;
  double length_m = 0;
  for (const Segment& s : segments) {
    extent.include(s.a);
    extent.include(s.b);
    length_m += distance_m(s.a, s.b);
  }
  const double scattered_m =
      std::max(extent.width(), extent.height()) / std::sqrt(static_cast<double>(segments.size()));
  const double beside_m = extent.width() * extent.height() / length_m;
  return beside_m > 0 && beside_m < scattered_m ? beside_m : scattered_m;
}

double farthest_corner_m(Point p, const TreeBox& box) {
  const double dx = std::max(std::abs(p.x - bg::get<0>(box.min_corner())),
                             std::abs(p.x - bg::get<0>(box.max_corner())));
  const double dy = std::max(std::abs(p.y - bg::get<1>(box.min_corner())),
                             std::abs(p.y - bg::get<1>(box.max_corner())));
  return std::hypot(dx, dy);
}

bool nearer(const NearLine& a, const NearLine& b) {
  return std::pair(a.projection.distance_m, a.line) < std::pair(b.projection.distance_m, b.line);
}

bool nearer(const NearPoint& a, const NearPoint& b) {
  if (a.distance2_m2 != b.distance2_m2) return a.distance2_m2 < b.distance2_m2;
  return a.point < b.point;
}

}  // namespace

struct LineIndex::State {
  std::vector<Line> lines;
  bgi::rtree<Entry, bgi::quadratic<16>> tree;
  double spacing_m = 1;  ///< between lines, roughly: the first radius searched

  std::vector<NearLine> within(Point p, double radius_m, double within_m) const;
};

/// Every line that comes within the radius, and perhaps others, nearest first.
std::vector<NearLine> LineIndex::State::within(Point p, double radius_m, double within_m) const {
  std::vector<int> numbers;
  const TreeBox box({p.x - radius_m, p.y - radius_m}, {p.x + radius_m, p.y + radius_m});
  for (auto it = tree.qbegin(bgi::intersects(box)); it != tree.qend(); ++it) {
    numbers.push_back(it->second);
  }
  std::sort(numbers.begin(), numbers.end());
  numbers.erase(std::unique(numbers.begin(), numbers.end()), numbers.end());
  std::vector<NearLine> found;
  for (const int number : numbers) {
    const NearLine candidate{number, project_onto(lines[static_cast<std::size_t>(number)], p)};
    if (candidate.projection.distance_m <= within_m) found.push_back(candidate);
  }
  std::sort(found.begin(), found.end(),
            [](const NearLine& a, const NearLine& b) { return nearer(a, b); });
  return found;
}

LineIndex::LineIndex(std::span<const Line> lines) : state_(std::make_unique<State>()) {
  state_->lines.assign(lines.begin(), lines.end());
  const std::vector<Segment> segments = segments_of(lines);
  const double spacing_m = spacing_of(segments);
  if (std::isfinite(spacing_m) && spacing_m > 0) state_->spacing_m = spacing_m;
  std::vector<Entry> entries;
  for (const Segment& s : segments) add_boxes(s, piece_spacings * state_->spacing_m, entries);
  state_->tree = decltype(state_->tree)(entries);
}

LineIndex::~LineIndex() = default;
LineIndex::LineIndex(LineIndex&&) noexcept = default;
LineIndex& LineIndex::operator=(LineIndex&&) noexcept = default;

std::vector<NearLine> LineIndex::nearest(Point p, int most, double within_m) const {
  const bool sensible = std::isfinite(p.x) && std::isfinite(p.y) && within_m >= 0;
  if (most <= 0 || state_->tree.empty() || !sensible) return {};
  const auto limit = static_cast<std::size_t>(most);
  // Boxes are searched in growing squares: what lies outside one is farther than its half side.
  const double everything = std::min(within_m, farthest_corner_m(p, state_->tree.bounds()));
  double radius = std::min(state_->spacing_m, everything);
  for (;; radius = std::min(2 * radius, everything)) {
    std::vector<NearLine> found = state_->within(p, radius * (1 + 1e-9), within_m);
    const bool settled = found.size() >= limit && found[limit - 1].projection.distance_m <= radius;
    if (!settled && radius < everything) continue;
    found.resize(std::min(found.size(), limit));
    return found;
  }
}

struct PointIndex::State {
  Point origin;
  double bucket_m = 1;
  int columns = 0;
  int rows = 0;
  std::vector<std::size_t> start;  ///< of each bucket in `places`; one more at the end
  std::vector<Point> places;       ///< by bucket
  std::vector<int> numbers;        ///< index given, by bucket

  /// Bucket number along an axis, possibly outside the grid, kept well inside int.
  int bucket(double offset_m) const {
    return static_cast<int>(std::floor(std::clamp(offset_m / bucket_m, -1e9, 1e9)));
  }
  std::size_t bucket_of(Point p) const {
    const int column = std::clamp(bucket(p.x - origin.x), 0, columns - 1);
    const int row = std::clamp(bucket(p.y - origin.y), 0, rows - 1);
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
           static_cast<std::size_t>(column);
  }
  void lay_out(std::span<const Point> points);
  void fill(std::span<const Point> points);
  void scan_row(int row, int from, int to, Point p, std::size_t most, double within2,
                std::vector<NearPoint>& heap) const;
  void scan_ring(int row, int column, int ring, Point p, std::size_t most, double within2,
                 std::vector<NearPoint>& heap) const;
  double unseen_from_m(int row, int column, int ring, Point p) const;
};

void PointIndex::State::lay_out(std::span<const Point> points) {
  Extent extent;
  for (const Point p : points) extent.include(p);
  origin = {extent.x_min, extent.y_min};
  constexpr double points_per_bucket = 3;
  const double buckets = std::max(1.0, static_cast<double>(points.size()) / points_per_bucket);
  const double longest = std::max(extent.width(), extent.height());
  bucket_m = std::max(std::sqrt(extent.width() * extent.height() / buckets), longest / buckets);
  if (!(bucket_m > 0)) bucket_m = 1;
  columns = bucket(extent.width()) + 1;
  rows = bucket(extent.height()) + 1;
}

void PointIndex::State::fill(std::span<const Point> points) {
  start.assign(static_cast<std::size_t>(rows) * static_cast<std::size_t>(columns) + 1, 0);
  for (const Point p : points) ++start[bucket_of(p) + 1];
  for (std::size_t b = 1; b < start.size(); ++b) start[b] += start[b - 1];
  std::vector<std::size_t> next(start.begin(), start.end() - 1);
  places.resize(points.size());
  numbers.resize(points.size());
  for (std::size_t i = 0; i < points.size(); ++i) {
    const std::size_t to = next[bucket_of(points[i])]++;
    places[to] = points[i];
    numbers[to] = static_cast<int>(i);
  }
}

void PointIndex::State::scan_row(int row, int from, int to, Point p, std::size_t most,
                                 double within2, std::vector<NearPoint>& heap) const {
  from = std::max(from, 0);
  to = std::min(to, columns - 1);
  if (row < 0 || row >= rows || from > to) return;
  const std::size_t base = static_cast<std::size_t>(row) * static_cast<std::size_t>(columns);
  const auto order = [](const NearPoint& a, const NearPoint& b) { return nearer(a, b); };
  const std::size_t end = start[base + static_cast<std::size_t>(to) + 1];
  for (std::size_t i = start[base + static_cast<std::size_t>(from)]; i < end; ++i) {
    const double dx = places[i].x - p.x;
    const double dy = places[i].y - p.y;
    const NearPoint candidate{numbers[i], dx * dx + dy * dy};
    if (candidate.distance2_m2 > within2) continue;
    if (heap.size() == most) {
      if (!nearer(candidate, heap.front())) continue;
      std::pop_heap(heap.begin(), heap.end(), order);
      heap.back() = candidate;
    } else {
      heap.push_back(candidate);
    }
    std::push_heap(heap.begin(), heap.end(), order);
  }
}

void PointIndex::State::scan_ring(int row, int column, int ring, Point p, std::size_t most,
                                  double within2, std::vector<NearPoint>& heap) const {
  scan_row(row - ring, column - ring, column + ring, p, most, within2, heap);
  if (ring == 0) return;
  scan_row(row + ring, column - ring, column + ring, p, most, within2, heap);
  const int first = std::max(row - ring + 1, 0);
  const int last = std::min(row + ring - 1, rows - 1);
  for (int r = first; r <= last; ++r) {
    scan_row(r, column - ring, column - ring, p, most, within2, heap);
    scan_row(r, column + ring, column + ring, p, most, within2, heap);
  }
}

/// No point outside the rings scanned is nearer than this; infinite when none is left.
double PointIndex::State::unseen_from_m(int row, int column, int ring, Point p) const {
  double nearest = std::numeric_limits<double>::infinity();
  const double west = origin.x + (column - ring) * bucket_m;
  const double south = origin.y + (row - ring) * bucket_m;
  const double side = (2.0 * ring + 1) * bucket_m;
  if (column - ring > 0) nearest = std::min(nearest, p.x - west);
  if (column + ring < columns - 1) nearest = std::min(nearest, west + side - p.x);
  if (row - ring > 0) nearest = std::min(nearest, p.y - south);
  if (row + ring < rows - 1) nearest = std::min(nearest, south + side - p.y);
  return nearest - 1e-9 * bucket_m;  // a point on a bucket's edge may be rounded to either side
}

PointIndex::PointIndex(std::span<const Point> points) : state_(std::make_unique<State>()) {
  if (points.empty()) return;
  state_->lay_out(points);
  state_->fill(points);
}

PointIndex::~PointIndex() = default;
PointIndex::PointIndex(PointIndex&&) noexcept = default;
PointIndex& PointIndex::operator=(PointIndex&&) noexcept = default;

void PointIndex::nearest(Point p, int most, double within_m, std::vector<NearPoint>& found) const {
  found.clear();
  const State& s = *state_;
  if (most <= 0 || s.places.empty() || !(within_m >= 0) || !std::isfinite(p.x + p.y)) return;
  const auto limit = static_cast<std::size_t>(most);
  const double within2 = within_m * within_m;
  const int column = s.bucket(p.x - s.origin.x);
  const int row = s.bucket(p.y - s.origin.y);
  // From far outside, the first rings hold nothing: begin at the ring that reaches the grid.
  int ring = std::max({0, -column, column - (s.columns - 1), -row, row - (s.rows - 1)});
  for (;; ++ring) {
    s.scan_ring(row, column, ring, p, limit, within2, found);
    const double unseen = s.unseen_from_m(row, column, ring, p);
    if (std::isinf(unseen) || unseen > within_m) break;
    const bool full = found.size() == limit;
    if (full && unseen > 0 && unseen * unseen > found.front().distance2_m2) break;
  }
  std::sort_heap(found.begin(), found.end(),
                 [](const NearPoint& a, const NearPoint& b) { return nearer(a, b); });
}

}  // namespace evendrip
