// SPDX-License-Identifier: Apache-2.0
#include "layout_scan.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>

#include "evendrip/geo/line.hpp"
#include "ordered_laterals.hpp"

namespace evendrip {
namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();
constexpr double bins_along = 24;
constexpr double cells_in_bin = 2;
constexpr double rows_in_bin = 2;
constexpr double most_samples_along = 12;
constexpr std::array across_row{-0.375, -0.125, 0.125, 0.375};  ///< shares of a row
constexpr double least_seen = 0.5;
constexpr int least_widest = 12;  ///< rows of the widest run looked for, at least
constexpr int widest_in_widths = 4;
constexpr int most_widest = 64;  ///< unless more are needed to resolve it

std::size_t size(int n) {
  return static_cast<std::size_t>(n);
}

std::vector<double> levels_of(const ScreenedGround& ground, std::size_t zones) {
  std::vector<double> sums(zones, 0);
  std::vector<double> counts(zones, 0);
  for (std::size_t i = 0; i < ground.zone.size(); ++i) {
    if (ground.zone[i] < 0) continue;
    sums[size(ground.zone[i])] += double{ground.crop.values[i]};
    counts[size(ground.zone[i])] += 1;
  }
  for (std::size_t z = 0; z < zones; ++z)
    if (counts[z] > 0) sums[z] /= counts[z];
  return sums;
}

}  // namespace

LayoutScan::LayoutScan(const Field& field, const ScreenedGround& ground, double resolved_m)
    : field_(field),
      ground_(ground),
      level_(levels_of(ground, field.zones.size())),
      zones_(field.zones.size()) {
  const double cell_m = ground.crop.grid.cell_m;
  for (std::size_t z = 0; z < zones_.size(); ++z) {
    OfZone& zone = zones_[z];
    zone.laterals = ordered_laterals(field, static_cast<int>(z));
    const double spacing_m = field.zones[z].lateral.spacing_m * field.scale_factor;
    if (zone.laterals.empty() || !(spacing_m > 0)) {
      zone.laterals.clear();
      continue;
    }
    double longest_m = 0;
    for (const int lateral : zone.laterals)
      longest_m = std::max(longest_m, length_m(field.laterals[size(lateral)].line));
    zone.row_m = spacing_m;
    zone.bin_m = std::max({longest_m / bins_along, cells_in_bin * cell_m, rows_in_bin * spacing_m});
    const int together =
        std::max(1, static_cast<int>(std::ceil(std::max(cell_m, resolved_m) / spacing_m - 1e-6)));
    const int own = std::min(most_widest, static_cast<int>(zone.laterals.size()));
    zone.runs = {together, std::max({least_widest, widest_in_widths * together, own})};
    const Extent extent = extent_of(field.zones[z].area);
    zone.middle = {(extent.x_min + extent.x_max) / 2, (extent.y_min + extent.y_max) / 2};
    zone.reach_m = std::hypot(extent.width(), extent.height()) / 2;
    const int typical = zone.laterals[zone.laterals.size() / 2];
    zone.bearing_deg = bearing_deg(field.laterals[size(typical)].line);
    zone.spread = LatticeSteps(true_lattice(static_cast<int>(z)), together).spread();
  }
}

/// NaN where the ground is not whose it should be. That of others is brought to the zone's level.
double LayoutScan::value_for(int zone, Point p, Whose whose) const {
  const Grid& grid = ground_.crop.grid;
  const Cell cell = cell_of(grid, p);
  if (!grid.contains_cell(cell.row, cell.column)) return none;
  const std::size_t i = grid.index(cell.row, cell.column);
  const int there = ground_.zone[i];
  if (there < 0) return none;
  const double value = value_at(ground_.crop, p).value_or(none);
  if (there == zone) return whose == Whose::others ? none : value;
  return whose == Whose::own ? none : value - level_[size(there)] + level_[size(zone)];
}

/// Over a stretch one row wide and one bin long that begins at `from`.
double LayoutScan::mean_of(int zone, Point from, Point along, double length_m, double row_m,
                           Whose whose) const {
  const double cell_m = ground_.crop.grid.cell_m;
  const int count =
      static_cast<int>(std::clamp(std::ceil(1.5 * length_m / cell_m), 2.0, most_samples_along));
  double sum = 0;
  int seen = 0;
  for (int i = 0; i < count; ++i) {
    const double u = (i + 0.5) * length_m / count;
    for (const double share : across_row) {
      const double w = share * row_m;
      const double value = value_for(
          zone, {from.x + u * along.x + w * along.y, from.y + u * along.y - w * along.x}, whose);
      if (!std::isfinite(value)) continue;
      sum += value;
      ++seen;
    }
  }
  const double wanted = least_seen * count * static_cast<double>(across_row.size());
  return seen > 0 && seen >= wanted ? sum / seen : none;
}

/// Along a lateral, or a line beside it.
void LayoutScan::fill_row(int zone, const Line& line, double off_m, Whose whose, int row,
                          Lattice& lattice) const {
  const OfZone& own = zones_[size(zone)];
  const double end = length_m(line);
  for (int bin = 0; bin < lattice.bins && (bin + 0.5) * own.bin_m < end; ++bin) {
    const double from_m = bin * own.bin_m;
    const double length = std::min(own.bin_m, end - from_m);
    const Point along = direction_at(line, from_m + length / 2);
    const Point on = point_at(line, from_m);
    const Point from{on.x + off_m * along.y, on.y - off_m * along.x};
    lattice.mean[size(row) * size(lattice.bins) + size(bin)] =
        mean_of(zone, from, along, length, own.row_m, whose);
  }
}

/// 1 where the ground beyond the first or last lateral lies to the right of it, else -1; 0 where
/// there is no other lateral to tell.
double LayoutScan::outward(int zone, bool first) const {
  const std::vector<int>& laterals = zones_[size(zone)].laterals;
  if (laterals.size() < 2) return 0;
  const std::size_t edge = first ? 0 : laterals.size() - 1;
  const std::size_t inner = first ? 1 : laterals.size() - 2;
  const Line& line = field_.laterals[size(laterals[edge])].line;
  const Line& next = field_.laterals[size(laterals[inner])].line;
  const Point at = point_at(line, 0.5 * length_m(line));
  const Point to = project_onto(next, at).foot;
  const Point along = direction_at(line, 0.5 * length_m(line));
  return (to.x - at.x) * along.y - (to.y - at.y) * along.x > 0 ? -1 : 1;
}

Lattice LayoutScan::true_lattice(int zone) const {
  const OfZone& own = zones_[size(zone)];
  const int beyond = 2 * own.runs.together;
  Lattice lattice;
  lattice.first_own = beyond;
  lattice.end_own = beyond + static_cast<int>(own.laterals.size());
  lattice.rows = lattice.end_own + beyond;
  for (const int lateral : own.laterals) {
    const double length = length_m(field_.laterals[size(lateral)].line);
    lattice.bins = std::max(lattice.bins, static_cast<int>(std::ceil(length / own.bin_m - 0.5)));
  }
  lattice.mean.assign(size(lattice.rows) * size(lattice.bins), none);
  for (int row = lattice.first_own; row < lattice.end_own; ++row) {
    const int lateral = own.laterals[size(row - lattice.first_own)];
    fill_row(zone, field_.laterals[size(lateral)].line, 0, Whose::own, row, lattice);
  }
  const Line& first = field_.laterals[size(own.laterals.front())].line;
  const Line& last = field_.laterals[size(own.laterals.back())].line;
  const double before = outward(zone, true);
  const double behind = outward(zone, false);
  for (int k = 1; k <= beyond && before != 0; ++k) {
    fill_row(zone, first, before * k * own.row_m, Whose::others, lattice.first_own - k, lattice);
    fill_row(zone, last, behind * k * own.row_m, Whose::others, lattice.end_own - 1 + k, lattice);
  }
  return lattice;
}

Lattice LayoutScan::turned_lattice(int zone, const Turn& turn) const {
  const OfZone& own = zones_[size(zone)];
  const double bearing = (own.bearing_deg + turn.angle_deg) * std::numbers::pi / 180;
  const Point along{std::sin(bearing), std::cos(bearing)};
  Lattice lattice;
  lattice.rows = static_cast<int>(std::ceil(2 * own.reach_m / own.row_m)) + 1;
  lattice.bins = static_cast<int>(std::ceil(2 * own.reach_m / own.bin_m)) + 1;
  lattice.end_own = lattice.rows;
  lattice.mean.assign(size(lattice.rows) * size(lattice.bins), none);
  for (int row = 0; row < lattice.rows; ++row) {
    const double w = (row + turn.across) * own.row_m - own.reach_m;
    for (int bin = 0; bin < lattice.bins; ++bin) {
      const double u = (bin - turn.along) * own.bin_m - own.reach_m;
      const Point from{own.middle.x + u * along.x + w * along.y,
                       own.middle.y + u * along.y - w * along.x};
      lattice.mean[size(row) * size(lattice.bins) + size(bin)] =
          mean_of(zone, from, along, own.bin_m, own.row_m, Whose::all);
    }
  }
  return lattice;
}

std::vector<Trough> LayoutScan::edge_runs(int zone) const {
  std::vector<Trough> out;
  const OfZone& own = zones_[size(zone)];
  if (own.laterals.empty()) return out;
  const Lattice lattice = true_lattice(zone);
  const LatticeSteps steps(lattice, own.runs.together);
  if (!(steps.spread() > 0)) return out;
  const int widest = std::max(least_widest, widest_in_widths * own.runs.together);
  for (const bool first : {true, false}) {
    const int beyond = first ? lattice.first_own - 1 : lattice.end_own;
    for (int rows = own.runs.together; rows <= widest && rows < lattice.end_own - lattice.first_own;
         ++rows) {
      const int boundary = first ? lattice.first_own + rows : lattice.end_own - rows;
      LatticeRun found = steps.best_side(boundary, first ? -1 : 1);
      if (!(found.score > 0)) continue;
      // Where a zone goes on beyond, the run has its other side, and is a trough or none.
      const double other =
          mean_of_box(lattice, beyond, beyond + 1, found.first_bin, found.last_bin);
      if (std::isfinite(other)) continue;
      found.first_row = first ? lattice.first_own : boundary;
      found.last_row = first ? boundary - 1 : lattice.end_own - 1;
      out.push_back(told(zone, lattice, found));
    }
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Trough& a, const Trough& b) { return a.score > b.score; });
  return out;
}

Trough LayoutScan::told(int zone, const Lattice& lattice, const LatticeRun& found) const {
  const OfZone& own = zones_[size(zone)];
  Trough trough;
  trough.zone = zone;
  trough.score = found.score;
  trough.first_row = found.first_row - lattice.first_own;
  trough.last_row = found.last_row - lattice.first_own;
  for (int row = trough.first_row; row <= trough.last_row; ++row)
    trough.laterals.push_back(own.laterals[size(row)]);
  const auto box = [&](int first_row, int end_row) {
    return mean_of_box(lattice, first_row, end_row, found.first_bin, found.last_bin);
  };
  const int beside = std::max(2, own.runs.together);
  for (int row = std::max(0, trough.first_row - beside);
       row < std::min(static_cast<int>(own.laterals.size()), trough.last_row + 1 + beside); ++row)
    if (row < trough.first_row || row > trough.last_row)
      trough.beside.push_back(own.laterals[size(row)]);
  const double before = box(found.first_row - beside, found.first_row);
  const double behind = box(found.last_row + 1, found.last_row + 1 + beside);
  const double outside = std::isfinite(before) && std::isfinite(behind) ? 0.5 * (before + behind)
                         : std::isfinite(before)                        ? before
                                                                        : behind;
  trough.level = box(found.first_row, found.last_row + 1) / outside;
  // Bins at either end that are not seen (the headland) belong to what begins or ends beside them.
  const auto seen = [&](int bin) {
    return std::isfinite(mean_of_rows(lattice, found.first_row, found.last_row + 1, bin));
  };
  int first = found.first_bin;
  while (first > 0 && !seen(first - 1)) --first;
  int last = found.last_bin;
  while (last + 1 < lattice.bins && !seen(last + 1)) ++last;
  double end_m = 0;
  for (const int lateral : trough.laterals)
    end_m = std::max(end_m, field_.laterals[size(lateral)].length_m);
  trough.from_m = first * own.bin_m / field_.scale_factor;
  trough.to_the_end = last + 1 >= lattice.bins;
  trough.to_m =
      trough.to_the_end ? end_m : std::min(end_m, (last + 1) * own.bin_m / field_.scale_factor);
  return trough;
}

std::vector<Trough> LayoutScan::troughs(int zone) const {
  std::vector<Trough> out;
  const OfZone& own = zones_[size(zone)];
  if (own.laterals.empty()) return out;
  const Lattice lattice = true_lattice(zone);
  for (const LatticeRun& found : low_runs(lattice, own.runs))
    out.push_back(told(zone, lattice, found));
  return out;
}

BestScores LayoutScan::best_when(int zone, const Turn& turn) const {
  const OfZone& own = zones_[size(zone)];
  if (own.laterals.empty()) return {};
  return best_scores(turned_lattice(zone, turn), own.runs);
}

double LayoutScan::expected_score(int zone, double depth, double length_m) const {
  const OfZone& own = zones_[size(zone)];
  const double bins = std::max(1.0, length_m / own.bin_m);
  return own.spread > 0 ? depth * std::sqrt(bins) / own.spread : 0;
}

}  // namespace evendrip
