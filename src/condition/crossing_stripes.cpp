// SPDX-License-Identifier: Apache-2.0
#include "crossing_stripes.hpp"

#include "evendrip/base/median.hpp"
#include "evendrip/condition/zone_data.hpp"
#include "evendrip/geo/index.hpp"

#include <boost/math/distributions/students_t.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

namespace evendrip {
namespace {

constexpr double longest_gap_m = 40;
constexpr double most_aside_in_spacings = 0.5;
constexpr double same_bearing_deg = 2;
constexpr std::size_t fewest_pairs = 10;
constexpr std::size_t fewest_data = 3;  ///< on a lateral
constexpr int near_laterals = 5;        ///< to both sides
constexpr double chance = 0.01;
constexpr double nan = std::numeric_limits<double>::quiet_NaN();

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

const Line& line_of(const Field& field, const SegmentGrid& grid, int row) {
  return field.laterals[at(grid.laterals[at(row)])].line;
}

/// Mean crop of each lateral less the median of those near it; NaN where it has too few data.
std::vector<double> profile_of(const SegmentGrid& grid, const std::vector<CropDatum>& data) {
  std::vector<double> sums(at(grid.rows()), 0);
  std::vector<std::size_t> counts(at(grid.rows()), 0);
  for (const CropDatum& datum : data) {
    const auto most = std::max_element(datum.weights.begin(), datum.weights.end());
    const int segment = datum.segments[static_cast<std::size_t>(most - datum.weights.begin())];
    sums[at(segment / grid.stations())] += datum.value;
    ++counts[at(segment / grid.stations())];
  }
  std::vector<double> means;
  for (std::size_t i = 0; i < sums.size(); ++i)
    means.push_back(counts[i] < fewest_data ? nan : sums[i] / static_cast<double>(counts[i]));
  std::vector<double> profile;
  for (int row = 0; row < grid.rows(); ++row) {
    std::vector<double> near;
    const int last = std::min(grid.rows() - 1, row + near_laterals);
    for (int k = std::max(0, row - near_laterals); k <= last; ++k)
      if (std::isfinite(means[at(k)])) near.push_back(means[at(k)]);
    profile.push_back(near.empty() ? nan : means[at(row)] - median_of(near));
  }
  return profile;
}

double spacing_m(const SegmentGrid& grid) {
  return grid.rows() > 1 ? grid.across_m.back() / (grid.rows() - 1) : 1;
}

double gap_m(const Line& a, const Line& b) {
  double least = std::numeric_limits<double>::infinity();
  for (const Point& p : {a.front(), a.back()})
    for (const Point& o : {b.front(), b.back()})
      least = std::min(least, std::hypot(p.x - o.x, p.y - o.y));
  return least;
}

/// Distance of a place from the straight line that goes on from the nearer end of another.
double aside_m(const Line& line, Point place) {
  const Point from = line.front();
  const Point to = line.back();
  const double length = std::hypot(to.x - from.x, to.y - from.y);
  if (!(length > 0)) return std::numeric_limits<double>::infinity();
  return std::abs((place.x - from.x) * (to.y - from.y) - (place.y - from.y) * (to.x - from.x)) /
         length;
}

/// Of each lateral the one of another grid that goes on where it ends; -1: none.
std::vector<int> going_on(const Field& field, const SegmentGrid& grid, const SegmentGrid& other) {
  std::vector<int> pairs;
  const double most_m = most_aside_in_spacings * spacing_m(grid) * field.scale_factor;
  for (int row = 0; row < grid.rows(); ++row) {
    const Line& line = line_of(field, grid, row);
    int best = -1;
    double least = most_m;
    for (int k = 0; k < other.rows(); ++k) {
      const Line& next = line_of(field, other, k);
      const double turn = std::remainder(bearing_deg(line) - bearing_deg(next), 180);
      if (std::abs(turn) > same_bearing_deg) continue;
      if (gap_m(line, next) > longest_gap_m * field.scale_factor) continue;
      const double off = std::max(aside_m(line, next.front()), aside_m(line, next.back()));
      if (off > least) continue;
      least = off;
      best = k;
    }
    pairs.push_back(best);
  }
  return pairs;
}

using Pairs = std::vector<std::array<double, 2>>;

double correlation(const Pairs& pairs, std::size_t a, std::size_t b, std::size_t lag) {
  double products = 0;
  double first = 0;
  double second = 0;
  for (std::size_t i = 0; i + lag < pairs.size(); ++i) {
    products += pairs[i][a] * pairs[i + lag][b];
    first += pairs[i][a] * pairs[i][a];
    second += pairs[i + lag][b] * pairs[i + lag][b];
  }
  return first > 0 && second > 0 ? products / std::sqrt(first * second) : 0;
}

/// Chance of a correlation as high among laterals that have nothing in common.
double by_chance(const Pairs& pairs, double r) {
  const double alike = std::max(0.0, correlation(pairs, 0, 0, 1) * correlation(pairs, 1, 1, 1));
  const double n = static_cast<double>(pairs.size()) * (1 - alike) / (1 + alike);
  if (!(n > 3) || !(r > 0)) return 1;
  if (r >= 1) return 0;
  const double t = r * std::sqrt((n - 2) / (1 - r * r));
  return boost::math::cdf(boost::math::complement(boost::math::students_t(n - 2), t));
}

std::optional<CrossingStripes> stripes_into(const Field& field, const SegmentGrid& grid,
                                            const std::vector<double>& own,
                                            const CropEvidence& evidence, int zone,
                                            const Work& work) {
  const SegmentGrid other = segment_grid(field, zone, grid.step_m);
  const std::vector<int> next = going_on(field, grid, other);
  if (std::count_if(next.begin(), next.end(), [](int k) { return k >= 0; }) <
      static_cast<long>(fewest_pairs))
    return std::nullopt;
  const std::vector<double> beyond = profile_of(other, crop_data(field, other, evidence, work));
  Pairs pairs;
  CrossingStripes stripes;
  stripes.zone = zone;
  stripes.common.assign(own.size(), 0);
  for (std::size_t i = 0; i < own.size(); ++i) {
    if (next[i] < 0) continue;
    const double there = beyond[at(next[i])];
    if (!std::isfinite(own[i]) || !std::isfinite(there)) continue;
    pairs.push_back({own[i], there});
    if (own[i] * there > 0)
      stripes.common[i] = std::copysign(std::min(std::abs(own[i]), std::abs(there)), own[i]);
  }
  if (pairs.size() < fewest_pairs) return std::nullopt;
  stripes.laterals = static_cast<int>(pairs.size());
  stripes.correlation = correlation(pairs, 0, 1, 0);
  const auto others = static_cast<double>(std::max<std::size_t>(2, field.zones.size()) - 1);
  if (by_chance(pairs, stripes.correlation) > chance / others) return std::nullopt;
  return stripes;
}

bool has_laterals(const Field& field, int zone) {
  return std::any_of(field.laterals.begin(), field.laterals.end(), [zone](const Lateral& lateral) {
    return lateral.zone == zone && lateral.line.size() > 1 && lateral.length_m > 0;
  });
}

/// Whether two zones come close enough for laterals of one to go on in the other.
bool near(const Field& field, int a, int b) {
  return extent_of(field.zones[at(a)].area)
      .grown(longest_gap_m * field.scale_factor)
      .intersects(extent_of(field.zones[at(b)].area));
}

}  // namespace

std::vector<CrossingStripes> crossing_stripes(const Field& field, const SegmentGrid& grid,
                                              const CropEvidence& evidence,
                                              const std::vector<CropDatum>& data,
                                              const Work& work) {
  std::vector<CrossingStripes> found;
  const std::vector<double> own = profile_of(grid, data);
  for (int zone = 0; zone < static_cast<int>(field.zones.size()); ++zone) {
    if (zone == grid.zone || !has_laterals(field, zone) || !near(field, grid.zone, zone)) continue;
    auto stripes = stripes_into(field, grid, own, evidence, zone, work);
    if (stripes) found.push_back(*std::move(stripes));
  }
  return found;
}

std::vector<double> pattern_of(const std::vector<CrossingStripes>& stripes, const Field& field,
                               const SegmentGrid& grid, const CropEvidence& evidence) {
  // Of a lateral that goes on at both ends the larger part counts.
  std::vector<double> common(at(grid.rows()), 0);
  for (const CrossingStripes& one : stripes)
    for (std::size_t i = 0; i < common.size(); ++i)
      if (std::abs(one.common[i]) > std::abs(common[i])) common[i] = one.common[i];
  std::vector<Line> lines;
  lines.reserve(at(grid.rows()));
  for (int row = 0; row < grid.rows(); ++row) lines.push_back(line_of(field, grid, row));
  const LineIndex index(lines);
  const MultiPolygon& zone = field.zones[at(grid.zone)].area;
  const Extent extent = extent_of(zone);
  std::vector<double> pattern;
  pattern.reserve(evidence.data.size());
  for (const EvidenceDatum& datum : evidence.data) {
    const bool inside = extent.contains(datum.place) && contains(zone, datum.place);
    pattern.push_back(inside ? common[at(index.nearest(datum.place, 1).front().line)] : 0);
  }
  return pattern;
}

}  // namespace evendrip
