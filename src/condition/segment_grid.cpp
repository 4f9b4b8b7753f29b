// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/segment_grid.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

#include "evendrip/geo/line.hpp"
#include "evendrip/surface/mean_bearing.hpp"

namespace evendrip {
namespace {

constexpr double least_gap_m = 0.05;

/// Unit vector across the mean bearing of the lines, whichever way each one runs.
Point across_of(const Field& field, const std::vector<int>& laterals) {
  MeanBearing mean;
  for (const int i : laterals)
    mean.add(bearing_deg(field.laterals[static_cast<std::size_t>(i)].line));
  const double bearing = mean.degrees() * std::numbers::pi / 180;
  return {std::cos(bearing), -std::sin(bearing)};
}

}  // namespace

double SegmentGrid::spacing_m() const {
  return rows() > 1 ? across_m.back() / (rows() - 1) : std::max(1.0, step_m);
}

bool SegmentGrid::present(int row, int station) const {
  return stations_m[static_cast<std::size_t>(station)] < lengths_m[static_cast<std::size_t>(row)];
}

int SegmentGrid::row_of(int lateral) const {
  const auto found = std::find(laterals.begin(), laterals.end(), lateral);
  return found == laterals.end() ? -1 : static_cast<int>(found - laterals.begin());
}

int SegmentGrid::station_of(double station_m) const {
  return std::clamp(static_cast<int>(std::floor(station_m / step_m)), 0, stations() - 1);
}

SegmentGrid segment_grid(const Field& field, int zone, double step_m) {
  if (!(step_m > 0)) throw std::invalid_argument("segments need a length above 0");
  std::vector<int> laterals;
  double longest_m = 0;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if (lateral.zone != zone || lateral.line.size() < 2 || !(lateral.length_m > 0)) continue;
    laterals.push_back(static_cast<int>(i));
    longest_m = std::max(longest_m, lateral.length_m);
  }
  if (laterals.empty()) throw std::invalid_argument("the zone has no laterals");
  const Point across = across_of(field, laterals);
  std::vector<std::pair<double, int>> keyed;
  for (const int i : laterals) {
    const Line& line = field.laterals[static_cast<std::size_t>(i)].line;
    const Point middle = point_at(line, 0.5 * length_m(line));
    keyed.emplace_back((middle.x * across.x + middle.y * across.y) / field.scale_factor, i);
  }
  std::stable_sort(keyed.begin(), keyed.end());
  SegmentGrid grid;
  grid.zone = zone;
  grid.across = across;
  for (const auto& [distance, i] : keyed) {
    const double from_first = distance - keyed.front().first;
    grid.across_m.push_back(
        grid.across_m.empty() ? 0 : std::max(from_first, grid.across_m.back() + least_gap_m));
    grid.laterals.push_back(i);
    grid.lengths_m.push_back(field.laterals[static_cast<std::size_t>(i)].length_m);
  }
  const int count = std::max(1, static_cast<int>(std::lround(longest_m / step_m)));
  grid.step_m = longest_m / count;
  for (int k = 0; k < count; ++k) grid.stations_m.push_back((k + 0.5) * grid.step_m);
  return grid;
}

}  // namespace evendrip
