// SPDX-License-Identifier: Apache-2.0
#include "opposite_passes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "evendrip/base/median.hpp"
#include "evendrip/base/random.hpp"
#include "evendrip/geo/index.hpp"

#include "near_records.hpp"

namespace evendrip {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr std::size_t none = std::numeric_limits<std::size_t>::max();
constexpr std::size_t most_pairs = 60'000;

struct Offset {
  double along_m = 0;
  double across_m = 0;
};

/// Of b from a, in the direction in which a heads.
Offset offset_of(Point a, Point b, double heading_deg) {
  const double heading = heading_deg * std::numbers::pi / 180;
  const double dx = b.x - a.x, dy = b.y - a.y;
  return {std::abs(dx * std::sin(heading) + dy * std::cos(heading)),
          std::abs(dx * std::cos(heading) - dy * std::sin(heading))};
}

/// Whether an item is one of about `wanted` out of `items`, chosen by its number alone.
bool is_sampled(std::size_t item, std::size_t items, std::size_t wanted) {
  return items <= wanted || item_seed(0, {item}) % items < wanted;
}

}  // namespace

double pass_spacing_m(const HarvestLog& log, const DrivenLog& driven) {
  if (driven.swath_m > 0) return driven.swath_m;
  const PointIndex index(log.places);
  std::vector<NearPoint> near;
  std::vector<double> spacings;
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (!is_sampled(i, log.size(), 2'000) || std::isnan(driven.heading_deg[i])) continue;
    index.nearest(log.places[i], 200, infinity, near);
    double nearest = infinity;
    for (const NearPoint& other : near) {
      const auto j = static_cast<std::size_t>(other.point);
      const double turn = turn_deg(driven.heading_deg[i], driven.heading_deg[j]);
      if (driven.pass[i] == driven.pass[j] || !(turn < 30 || turn > 150)) continue;
      const Offset offset = offset_of(log.places[i], log.places[j], driven.heading_deg[i]);
      if (offset.along_m <= driven.step_m) nearest = std::min(nearest, offset.across_m);
    }
    if (std::isfinite(nearest)) spacings.push_back(nearest);
  }
  return median_of(std::move(spacings));
}

std::vector<RecordPair> opposite_pairs(const HarvestLog& log, const DrivenLog& driven,
                                       double spacing_m, const Work& work) {
  if (!(spacing_m > 0) || !(driven.step_m > 0)) return {};
  const double along_limit = 0.75 * driven.step_m;
  const double reach = std::hypot(1.6 * spacing_m, along_limit);
  const NearRecords near(log.places, {}, reach);
  const bool machines = log.machine.size() == log.size();
  std::vector<std::size_t> best(log.size(), none);
  for_each_chunk(work, log.size(), 4096, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) {
      if (std::isnan(driven.heading_deg[i]) || !is_sampled(i, log.size(), most_pairs)) continue;
      double best_along = infinity;
      near.for_each(log.places[i], [&](std::size_t j) {
        if (driven.pass[j] == driven.pass[i] || (machines && log.machine[j] != log.machine[i]))
          return;
        if (!(turn_deg(driven.heading_deg[i], driven.heading_deg[j]) > 150)) return;
        const Offset offset = offset_of(log.places[i], log.places[j], driven.heading_deg[i]);
        if (offset.across_m < 0.5 * spacing_m || offset.across_m > 1.6 * spacing_m) return;
        if (offset.along_m > along_limit || offset.along_m > best_along) return;
        if (offset.along_m == best_along && j > best[i]) return;
        best_along = offset.along_m;
        best[i] = j;
      });
    }
  });
  std::vector<RecordPair> pairs;
  for (std::size_t i = 0; i < log.size(); ++i)
    if (best[i] != none) pairs.push_back({i, best[i]});
  return pairs;
}

double opposite_difference(std::span<const RecordPair> pairs, std::span<const double> values) {
  std::vector<double> differences, levels;
  for (const RecordPair& pair : pairs) {
    const double a = values[pair.a], b = values[pair.b];
    if (!std::isfinite(a) || !std::isfinite(b)) continue;
    differences.push_back(std::abs(a - b));
    levels.push_back(0.5 * (a + b));
  }
  if (differences.size() < 10) return 0;
  const double level = median_in_place(levels);
  return level > 0 ? median_in_place(differences) / level : 0;
}

}  // namespace evendrip
