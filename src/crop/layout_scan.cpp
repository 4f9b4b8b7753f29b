// SPDX-License-Identifier: Apache-2.0
#include "layout_scan.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>

#include "evendrip/base/median.hpp"
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
constexpr int least_widest = 12;  ///< rows of the widest trough looked for, at least
constexpr int widest_in_widths = 4;
constexpr int fewest_bins = 2;
constexpr double least_side = 1.0 / 3;
constexpr double normal_mad = 1.4826022185056018;  ///< normal standard deviation over the MAD

std::size_t size(int n) {
  return static_cast<std::size_t>(n);
}

/// Mean of the rows first to last - 1 that are seen in a bin.
template <typename Lattice>
double mean_of_rows(const Lattice& lattice, int first, int last, int bin) {
  double sum = 0;
  int count = 0;
  for (int row = std::max(first, 0); row < std::min(last, lattice.rows); ++row) {
    const double value = lattice.at(row, bin);
    if (!std::isfinite(value)) continue;
    sum += value;
    ++count;
  }
  return count > 0 ? sum / count : none;
}

/// Mean of a box of the lattice.
template <typename Lattice>
double mean_of_box(const Lattice& lattice, int first_row, int last_row, int first_bin,
                   int last_bin) {
  double sum = 0;
  int count = 0;
  for (int bin = first_bin; bin <= last_bin; ++bin) {
    const double value = mean_of_rows(lattice, first_row, last_row, bin);
    if (!std::isfinite(value)) continue;
    sum += value;
    ++count;
  }
  return count > 0 ? sum / count : none;
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

double or_zero(double value) {
  return std::isfinite(value) ? value : 0;
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
    zone.together =
        std::max(1, static_cast<int>(std::ceil(std::max(cell_m, resolved_m) / spacing_m - 1e-6)));
    const Extent extent = extent_of(field.zones[z].area);
    zone.middle = {(extent.x_min + extent.x_max) / 2, (extent.y_min + extent.y_max) / 2};
    zone.reach_m = std::hypot(extent.width(), extent.height()) / 2;
    const int typical = zone.laterals[zone.laterals.size() / 2];
    zone.bearing_deg = bearing_deg(field.laterals[size(typical)].line);
    zone.spread = spread_of(steps_of(true_lattice(static_cast<int>(z)), zone.together));
  }
}

/// NaN where the ground is not whose it should be. That of others is brought to the zone's level.
double LayoutScan::value_for(int zone, Point p, Whose whose) const {
  if (whose == Whose::own) return ground_.at(p, zone);
  const double value = ground_.at(p, -1);
  if (!std::isfinite(value)) return none;
  const Cell cell = cell_of(ground_.crop.grid, p);
  const int there = ground_.zone[ground_.crop.grid.index(cell.row, cell.column)];
  if (there == zone) return whose == Whose::others ? none : value;
  return value - level_[size(there)] + level_[size(zone)];
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

LayoutScan::Lattice LayoutScan::true_lattice(int zone) const {
  const OfZone& own = zones_[size(zone)];
  const int beyond = 2 * own.together;
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

LayoutScan::Lattice LayoutScan::turned_lattice(int zone, const Turn& turn) const {
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

/// Of the boundary before each row, NaN where it is not seen.
std::vector<double> LayoutScan::steps_of(const Lattice& lattice, int together) {
  std::vector<double> steps(lattice.mean.size(), none);
  for (int row = 1; row < lattice.rows; ++row) {
    for (int bin = 0; bin < lattice.bins; ++bin) {
      const double a = mean_of_rows(lattice, row - together, row, bin);
      const double b = mean_of_rows(lattice, row, row + together, bin);
      const double before = mean_of_rows(lattice, row - 2 * together, row - together, bin);
      const double behind = mean_of_rows(lattice, row + together, row + 2 * together, bin);
      steps[size(row) * size(lattice.bins) + size(bin)] =
          a - b - 0.5 * (or_zero(before - a) + or_zero(b - behind));
    }
  }
  return steps;
}

double LayoutScan::spread_of(const std::vector<double>& steps) {
  std::vector<double> sizes;
  for (const double step : steps) {
    if (std::isfinite(step)) sizes.push_back(std::abs(step));
  }
  return normal_mad * median_of(std::move(sizes));
}

/// A single step leaves half a step back in the one beside it, by the slope that is taken off: a
/// run counts where its lesser side is at least a third of the greater.
bool LayoutScan::low_on_both_sides(const Lattice& lattice, int together, const Found& found) {
  const int beside = std::max(2, together);
  const auto box = [&](int first_row, int end_row) {
    return mean_of_box(lattice, first_row, end_row, found.first_bin, found.last_bin);
  };
  const double inside = box(found.first_row, found.last_row + 1);
  const double before = box(found.first_row - beside, found.first_row) - inside;
  const double behind = box(found.last_row + 1, found.last_row + 1 + beside) - inside;
  return std::min(before, behind) >= least_side * std::max(before, behind);
}

/// For each run of rows the stretch of bins with the greatest score.
std::vector<LayoutScan::Found> LayoutScan::scan(const Lattice& lattice, int together) {
  const std::vector<double> steps = steps_of(lattice, together);
  const double spread = spread_of(steps);
  std::vector<Found> all;
  if (!(spread > 0)) return all;
  const int widest = std::max(least_widest, widest_in_widths * together);
  std::vector<double> down(size(lattice.bins) + 1);
  std::vector<double> up(size(lattice.bins) + 1);
  std::vector<int> seen(size(lattice.bins) + 1);
  for (int first = std::max(1, lattice.first_own); first < lattice.end_own; ++first) {
    for (int end = first + together;
         end < lattice.rows && end <= lattice.end_own && end - first <= widest; ++end) {
      for (int bin = 0; bin < lattice.bins; ++bin) {
        const double in = steps[size(first) * size(lattice.bins) + size(bin)];
        const double out = -steps[size(end) * size(lattice.bins) + size(bin)];
        const bool both = std::isfinite(in) && std::isfinite(out);
        down[size(bin) + 1] = down[size(bin)] + (both ? in : 0);
        up[size(bin) + 1] = up[size(bin)] + (both ? out : 0);
        seen[size(bin) + 1] = seen[size(bin)] + (both ? 1 : 0);
      }
      Found best{first, end - 1, 0, 0, 0};
      for (int from = 0; from < lattice.bins; ++from) {
        for (int to = from + fewest_bins; to <= lattice.bins; ++to) {
          const int count = seen[size(to)] - seen[size(from)];
          if (count < fewest_bins) continue;
          const double sum =
              std::min(down[size(to)] - down[size(from)], up[size(to)] - up[size(from)]);
          const double score = sum / (spread * std::sqrt(static_cast<double>(count)));
          if (score > best.score) best = {first, end - 1, from, to - 1, score};
        }
      }
      if (best.score > 0 && low_on_both_sides(lattice, together, best)) all.push_back(best);
    }
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const Found& a, const Found& b) { return a.score > b.score; });
  return all;
}

/// The stretch of bins with the greatest sum of steps over one boundary.
LayoutScan::Found LayoutScan::best_side(const Lattice& lattice, const std::vector<double>& steps,
                                        int boundary, double sign, double spread) {
  Found best;
  for (int from = 0; from < lattice.bins; ++from) {
    double sum = 0;
    int count = 0;
    for (int bin = from; bin < lattice.bins; ++bin) {
      const double step = steps[size(boundary) * size(lattice.bins) + size(bin)];
      if (!std::isfinite(step)) continue;
      sum += sign * step;
      ++count;
      if (count < fewest_bins) continue;
      const double score = sum / (spread * std::sqrt(static_cast<double>(count)));
      if (score > best.score) best = {0, 0, from, bin, score};
    }
  }
  return best;
}

std::vector<Trough> LayoutScan::edge_runs(int zone) const {
  std::vector<Trough> out;
  const OfZone& own = zones_[size(zone)];
  if (own.laterals.empty()) return out;
  const Lattice lattice = true_lattice(zone);
  const std::vector<double> steps = steps_of(lattice, own.together);
  const double spread = spread_of(steps);
  if (!(spread > 0)) return out;
  const int widest = std::max(least_widest, widest_in_widths * own.together);
  for (const bool first : {true, false}) {
    const int beyond = first ? lattice.first_own - 1 : lattice.end_own;
    for (int rows = own.together; rows <= widest && rows < lattice.end_own - lattice.first_own;
         ++rows) {
      const int boundary = first ? lattice.first_own + rows : lattice.end_own - rows;
      Found found = best_side(lattice, steps, boundary, first ? -1 : 1, spread);
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

Trough LayoutScan::told(int zone, const Lattice& lattice, const Found& found) const {
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
  const int beside = std::max(2, own.together);
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
  for (const Found& found : scan(lattice, own.together)) out.push_back(told(zone, lattice, found));
  return out;
}

LayoutScan::Best LayoutScan::best_when(int zone, const Turn& turn) const {
  const OfZone& own = zones_[size(zone)];
  if (own.laterals.empty()) return {};
  const Lattice lattice = turned_lattice(zone, turn);
  Best best;
  const std::vector<Found> found = scan(lattice, own.together);
  if (!found.empty()) best.trough = found.front().score;
  const std::vector<double> steps = steps_of(lattice, own.together);
  const double spread = spread_of(steps);
  for (int boundary = 1; boundary < lattice.rows && spread > 0; ++boundary)
    for (const double sign : {-1.0, 1.0})
      best.side = std::max(best.side, best_side(lattice, steps, boundary, sign, spread).score);
  return best;
}

double LayoutScan::expected_score(int zone, double depth, double length_m) const {
  const OfZone& own = zones_[size(zone)];
  const double bins = std::max(1.0, length_m / own.bin_m);
  return own.spread > 0 ? depth * std::sqrt(bins) / own.spread : 0;
}

}  // namespace evendrip
