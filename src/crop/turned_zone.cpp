// SPDX-License-Identifier: Apache-2.0
#include "turned_zone.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "evendrip/geo/coverage.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

constexpr double whole_cell = 0.999;
constexpr double fullest_share = 1.0 / 3;

/// Unit steps with and to the right of a bearing.
struct Axes {
  Point along;
  Point across;
};

Axes axes_of(double bearing_deg) {
  const double angle = bearing_deg * std::numbers::pi / 180;
  const double s = std::sin(angle);
  const double c = std::cos(angle);
  return {{s, c}, {c, -s}};
}

struct BinnedCell {
  long across = 0;
  long along = 0;
  double offset = 0;
  double value = 0;
};

std::vector<BinnedCell> binned_cells(const Raster& raster, const MultiPolygon& area,
                                     double bearing_deg) {
  const Axes axes = axes_of(bearing_deg);
  const Coverage coverage = coverage_of(raster.grid, area);
  const Window& window = coverage.window;
  std::vector<BinnedCell> cells;
  for (int row = 0; row < window.rows; ++row)
    for (int column = 0; column < window.columns; ++column) {
      const std::size_t k =
          static_cast<std::size_t>(row) * static_cast<std::size_t>(window.columns) +
          static_cast<std::size_t>(column);
      const std::size_t i = raster.grid.index(window.row + row, window.column + column);
      if (coverage.fraction[k] < whole_cell || !raster.has_value(i)) continue;
      const double east = window.column + column + 0.5;
      const double north = -(window.row + row + 0.5);
      const double across = east * axes.across.x + north * axes.across.y;
      const double along = east * axes.along.x + north * axes.along.y;
      cells.push_back({std::lround(std::floor(across)), std::lround(std::floor(along)),
                       across - std::floor(across) - 0.5, static_cast<double>(raster.values[i])});
    }
  return cells;
}

}  // namespace

std::optional<double> bearing_of_laterals(const Field& field, int zone) {
  const Lateral* longest = nullptr;
  for (const Lateral& lateral : field.laterals) {
    if (lateral.zone != zone || lateral.line.size() < 2 || !(lateral.length_m > 0)) continue;
    if (longest == nullptr || lateral.length_m > longest->length_m) longest = &lateral;
  }
  if (longest == nullptr) return {};
  return bearing_deg(longest->line);
}

double along_axis(double bearing_deg, double axis_deg) {
  return axis_deg + std::remainder(bearing_deg - axis_deg, 180);
}

Point TurnedZone::place(std::size_t across_bin, double along_bin) const {
  const Axes axes = axes_of(bearing_deg);
  const double u = across_m(across_bin);
  const double v = (static_cast<double>(first_along) + along_bin + 0.5) * cell_m;
  return {corner.x + u * axes.across.x + v * axes.along.x,
          corner.y + u * axes.across.y + v * axes.along.y};
}

TurnedZone turned(const Raster& raster, const Field& field, int zone, double bearing_deg) {
  TurnedZone result;
  result.zone = zone;
  result.bearing_deg = bearing_deg;
  result.cell_m = raster.grid.cell_m;
  result.corner = {raster.grid.x_left, raster.grid.y_top};
  const std::vector<BinnedCell> cells =
      binned_cells(raster, field.zones[static_cast<std::size_t>(zone)].area, bearing_deg);
  if (cells.empty()) return result;
  const auto [left, right] = std::minmax_element(
      cells.begin(), cells.end(),
      [](const BinnedCell& a, const BinnedCell& b) { return a.across < b.across; });
  const auto [low, high] = std::minmax_element(
      cells.begin(), cells.end(),
      [](const BinnedCell& a, const BinnedCell& b) { return a.along < b.along; });
  result.first_across = left->across;
  result.first_along = low->along;
  result.across = static_cast<std::size_t>(right->across - left->across) + 1;
  result.along = static_cast<std::size_t>(high->along - low->along) + 1;
  std::vector<double> sum(result.across * result.along, 0.0);
  std::vector<double> count(sum.size(), 0.0);
  result.offset.assign(sum.size(), 0.0);
  for (const BinnedCell& cell : cells) {
    const std::size_t bin =
        static_cast<std::size_t>(cell.across - result.first_across) * result.along +
        static_cast<std::size_t>(cell.along - result.first_along);
    sum[bin] += cell.value;
    result.offset[bin] += cell.offset;
    count[bin] += 1;
  }
  result.value.assign(sum.size(), std::numeric_limits<double>::quiet_NaN());
  for (std::size_t bin = 0; bin < sum.size(); ++bin) {
    if (!(count[bin] > 0)) continue;
    result.value[bin] = sum[bin] / count[bin];
    result.offset[bin] /= count[bin];
  }
  return result;
}

AcrossProfile across_profile(const TurnedZone& zone, double from_share, double to_share) {
  const auto share = [&](double s) {
    return static_cast<std::size_t>(std::lround(s * static_cast<double>(zone.along)));
  };
  std::vector<double> sum(zone.across, 0.0);
  std::vector<double> offset(zone.across, 0.0);
  std::vector<double> count(zone.across, 0.0);
  for (std::size_t u = 0; u < zone.across; ++u)
    for (std::size_t v = share(from_share); v < share(to_share); ++v) {
      if (std::isnan(zone.at(u, v))) continue;
      sum[u] += zone.at(u, v);
      offset[u] += zone.offset[u * zone.along + v];
      count[u] += 1;
    }
  AcrossProfile profile;
  const double fullest = count.empty() ? 0 : *std::max_element(count.begin(), count.end());
  for (std::size_t u = 0; u < zone.across; ++u) {
    if (!(count[u] > 0) || count[u] < fullest_share * fullest) continue;
    profile.at_m.push_back(zone.across_m(u) + offset[u] / count[u] * zone.cell_m);
    profile.mean.push_back(sum[u] / count[u]);
  }
  return profile;
}

}  // namespace evendrip
