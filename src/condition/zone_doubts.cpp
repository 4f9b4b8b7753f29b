// SPDX-License-Identifier: Apache-2.0
#include "zone_doubts.hpp"

#include "evendrip/base/median.hpp"
#include "evendrip/geo/line.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evendrip {
namespace {

constexpr double most_of_length = 0.8;
constexpr double gauges_speak = 1;   ///< log-likelihood
constexpr double by_network = -0.1;  ///< change of delivery that a fault makes
constexpr double sure = 0.8;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Whether the records in the zone head along its laterals.
bool passes_run_along(const ZoneQuestion& q, const CropEvidence& evidence,
                      const SegmentGrid& grid) {
  const MultiPolygon& zone = q.field.zones[at(grid.zone)].area;
  const Extent extent = extent_of(zone);
  const double bearing = bearing_deg(q.field.laterals[at(grid.laterals[at(grid.rows() / 2)])].line);
  std::vector<double> turns;
  for (const EvidenceDatum& datum : evidence.data)
    if (extent.contains(datum.place) && contains(zone, datum.place))
      turns.push_back(std::remainder(double{datum.heading_deg} - bearing, 180));
  if (turns.empty()) return false;
  const double longest_m = *std::max_element(grid.lengths_m.begin(), grid.lengths_m.end());
  const double alike_deg =
      std::atan(evidence.typical.across_m / longest_m) * 180 / std::numbers::pi;
  return std::abs(median_of(turns)) <= alike_deg;
}

/// Laterals that are low over most of their length by what no gauge shows.
std::vector<bool> low_rows(const ZoneState& state) {
  std::vector<double> low(at(state.grid.rows()), 0);
  std::vector<double> all(at(state.grid.rows()), 0);
  const bool gauged = state.network.gauge_gain > gauges_speak;
  for (const SegmentCondition& segment : state.segments) {
    const auto i = at(state.grid.segment(segment.row, segment.station));
    const bool fault =
        gauged && !state.network.change.empty() && state.network.change[i] < by_network;
    all[at(segment.row)] += 1;
    if (segment.p_low > 0.5 && !fault) low[at(segment.row)] += 1;
  }
  std::vector<bool> rows;
  for (std::size_t i = 0; i < low.size(); ++i)
    rows.push_back(all[i] > 0 && low[i] >= most_of_length * all[i]);
  return rows;
}

}  // namespace

void doubt_passes(const ZoneQuestion& q, const CropEvidence& evidence,
                  const std::vector<HoleDatum>& holes, ZoneState& state) {
  if (!evidence.passes || !passes_run_along(q, evidence, state.grid)) return;
  std::vector<bool> rows = low_rows(state);
  for (std::size_t first = 0; first < rows.size(); ++first) {
    std::size_t end = first;
    while (end < rows.size() && rows[end]) ++end;
    const bool dug = std::any_of(holes.begin(), holes.end(), [&](const HoleDatum& hole) {
      return at(hole.row) >= first && at(hole.row) < end;
    });
    if (dug)
      std::fill(rows.begin() + static_cast<long>(first), rows.begin() + static_cast<long>(end),
                false);
    first = std::max(first, end);
  }
  for (SegmentCondition& segment : state.segments)
    if (rows[at(segment.row)] && segment.p_low > 0.5) segment.told_apart = false;
  const auto count = std::count(rows.begin(), rows.end(), true);
  if (count == 0) return;
  state.doubtful = fmt::format(
      "{} {} low by the crop alone and run{} with the passes of the machine that logged it: weak "
      "laterals and a pass that read low look alike",
      count, count == 1 ? "lateral is" : "laterals are", count == 1 ? "s" : "");
}

std::vector<int> contradicted(const ZoneQuestion& q, const SegmentGrid& grid,
                              const ZoneCondition& a, const ZoneCondition& b) {
  std::vector<int> segments;
  for (int row = 0; row < grid.rows(); ++row)
    for (int station = 0; station < grid.stations(); ++station) {
      if (!grid.present(row, station)) continue;
      const int segment = grid.segment(row, station);
      const double first = chance_low(q, grid.zone, a, at(segment));
      const double second = chance_low(q, grid.zone, b, at(segment));
      if ((first > sure && second < 1 - sure) || (first < 1 - sure && second > sure))
        segments.push_back(segment);
    }
  return segments;
}

void doubt_contradicted(ZoneState& state) {
  for (const LayerContradiction& one : state.contradictions)
    for (SegmentCondition& segment : state.segments)
      if (std::binary_search(one.segments.begin(), one.segments.end(),
                             state.grid.segment(segment.row, segment.station)))
        segment.told_apart = false;
}

}  // namespace evendrip
