// SPDX-License-Identifier: Apache-2.0
#include "cut_width.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <utility>

#include "evendrip/base/median.hpp"

#include "near_records.hpp"

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

/// What one record harvested: a rectangle about its middle.
struct Strip {
  Point middle;
  double east = 0, north = 1;  ///< direction of travel, length 1
  double half_length_m = 0;
};

Strip strip_between(Point from, Point to, double length_m) {
  const double east = (to.x - from.x) / length_m, north = (to.y - from.y) / length_m;
  // A twentieth more on both sides closes the wedges that open between strips of a bend.
  return {{0.5 * (from.x + to.x), 0.5 * (from.y + to.y)}, east, north, 0.55 * length_m};
}

Strip strip_behind(Point place, double heading_deg, double length_m) {
  const double heading = heading_deg * std::numbers::pi / 180;
  const Point from{place.x - length_m * std::sin(heading), place.y - length_m * std::cos(heading)};
  return strip_between(from, place, length_m);
}

std::vector<Strip> strips_of(const HarvestLog& log, const DrivenLog& driven) {
  std::vector<Strip> strips(log.size());
  for (std::size_t k = 0; k < driven.order.size(); ++k) {
    const std::size_t i = driven.order[k];
    strips[i].middle = log.places[i];
    const bool follows = k > 0 && driven.pass[driven.order[k - 1]] == driven.pass[i];
    const double moved = follows ? distance_m(log.places[driven.order[k - 1]], log.places[i]) : 0;
    if (moved > 0.05 * driven.step_m)
      strips[i] = strip_between(log.places[driven.order[k - 1]], log.places[i], moved);
    else if (std::isfinite(driven.heading_deg[i]) && driven.step_m > 0)
      strips[i] = strip_behind(log.places[i], driven.heading_deg[i], driven.step_m);
  }
  return strips;
}

using Interval = std::pair<double, double>;

/// Part of the line across `here` (metres to the right of its middle) inside a strip.
Interval crossed(const Strip& here, const Strip& other, double half_width_m) {
  const double dx = here.middle.x - other.middle.x, dy = here.middle.y - other.middle.y;
  const double along = dx * other.east + dy * other.north;
  const double across = dx * other.north - dy * other.east;
  // Right of travel is (north, -east); its parts along and across the other strip:
  const double along_by = here.north * other.east - here.east * other.north;
  const double across_by = here.north * other.north + here.east * other.east;
  Interval inside{-1e9, 1e9};
  const auto cut = [&inside](double from, double by, double half) {
    if (std::abs(by) < 1e-9) {
      if (std::abs(from) > half) inside = {1, -1};
      return;
    }
    double low = (-half - from) / by, high = (half - from) / by;
    if (low > high) std::swap(low, high);
    inside = {std::max(inside.first, low), std::min(inside.second, high)};
  };
  cut(along, along_by, other.half_length_m);
  cut(across, across_by, half_width_m);
  return inside;
}

/// What lies to one side of a record's strip: an overlap, a gap (negative), or nothing near.
struct Cover {
  double covered_m = 0;  ///< of the swath, by all earlier strips
  double left_m = nan;
  double right_m = nan;
};

Cover cover_of(std::vector<Interval>& intervals, double half_width_m) {
  std::sort(intervals.begin(), intervals.end());
  std::size_t joined = 0;
  for (const Interval& next : intervals) {
    if (joined > 0 && next.first <= intervals[joined - 1].second)
      intervals[joined - 1].second = std::max(intervals[joined - 1].second, next.second);
    else
      intervals[joined++] = next;
  }
  intervals.resize(joined);
  Cover cover;
  for (const auto& [low, high] : intervals) {
    const double from = std::max(low, -half_width_m), to = std::min(high, half_width_m);
    if (to > from) cover.covered_m += to - from;
    if (low <= -half_width_m) cover.left_m = high + half_width_m;
    if (high >= half_width_m && std::isnan(cover.right_m)) cover.right_m = half_width_m - low;
  }
  return cover;
}

/// Strips of earlier passes across every record that cuts.
std::vector<Cover> covers_of(const HarvestLog& log, const DrivenLog& driven,
                             std::span<const char> cuts, double header_m, const Work& work) {
  const std::vector<Strip> strips = strips_of(log, driven);
  std::vector<Point> middles;
  middles.reserve(log.size());
  for (const Strip& strip : strips) middles.push_back(strip.middle);
  const double half = 0.5 * header_m;
  const double reach = std::hypot(1.5 * header_m, 2 * driven.step_m);
  const NearRecords near(middles, cuts, reach);
  std::vector<Cover> covers(log.size());
  for_each_chunk(work, log.size(), 4096, [&](std::size_t begin, std::size_t end, int) {
    std::vector<Interval> intervals;
    for (std::size_t i = begin; i < end; ++i) {
      if (cuts[i] == 0 || strips[i].half_length_m == 0) continue;
      intervals.clear();
      near.for_each(strips[i].middle, [&](std::size_t j) {
        if (driven.pass[j] == driven.pass[i] || driven.rank[j] > driven.rank[i]) return;
        const Interval inside = crossed(strips[i], strips[j], half);
        if (inside.first < inside.second && inside.first < header_m && inside.second > -header_m)
          intervals.push_back(inside);
      });
      covers[i] = cover_of(intervals, half);
    }
  });
  return covers;
}

/// Half as much again as the gap that only one side in twenty exceeds (two and a half standard
/// deviations of normal errors); 0 where passes overlap on purpose.
double place_tolerance(const std::vector<Cover>& covers, double header_m) {
  std::vector<double> sides;
  for (const Cover& cover : covers)
    for (const double side : {cover.left_m, cover.right_m})
      if (std::isfinite(side) && std::abs(side) < 0.5 * header_m) sides.push_back(side);
  if (sides.size() < 20) return 0;
  const auto at = sides.begin() + static_cast<std::ptrdiff_t>(sides.size() / 20);
  std::nth_element(sides.begin(), at, sides.end());
  return std::max(0.0, -1.5 * *at);
}

double counted_m(const Cover& cover, double tolerance_m) {
  double counted = cover.covered_m;
  for (const double side : {cover.left_m, cover.right_m})
    if (side > 0 && side <= tolerance_m) counted -= side;
  return std::max(0.0, counted);
}

/// Median of a record's overlap and those of the two before and after it in its pass.
std::vector<double> smoothed(const DrivenLog& driven, const std::vector<double>& overlaps) {
  std::vector<double> smooth = overlaps;
  const std::size_t n = driven.order.size();
  for (std::size_t k = 0; k < n; ++k) {
    std::array<double, 5> near{};
    std::size_t count = 0;
    for (std::size_t j = k < 2 ? 0 : k - 2; j < std::min(n, k + 3); ++j)
      if (driven.pass[driven.order[j]] == driven.pass[driven.order[k]])
        near[count++] = overlaps[driven.order[j]];
    smooth[driven.order[k]] = median_in_place(std::span(near.data(), count));
  }
  return smooth;
}

}  // namespace

CutWidths cut_widths(const HarvestLog& log, const DrivenLog& driven, std::span<const char> cuts,
                     double scale_factor, const Work& work) {
  const double header = driven.swath_m * scale_factor;
  const std::vector<Cover> covers = covers_of(log, driven, cuts, header, work);
  CutWidths widths;
  widths.place_tolerance_m = place_tolerance(covers, header);
  std::vector<double> overlaps(log.size());
  for (std::size_t i = 0; i < log.size(); ++i)
    overlaps[i] = counted_m(covers[i], widths.place_tolerance_m);
  overlaps = smoothed(driven, overlaps);
  widths.width_m.assign(log.size(), nan);
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (cuts[i] == 0) continue;
    const double left = std::max(0.0, header - overlaps[i]) / scale_factor;
    const double logged = log.swath_m[i];
    widths.width_m[i] = std::isfinite(logged) && logged > 0 ? std::min(logged, left) : left;
  }
  return widths;
}

}  // namespace evendrip
