// SPDX-License-Identifier: Apache-2.0
#include "harvest_limit.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr float far_away = 1e12F;
constexpr double most_cells = 25e6;

struct Cells {
  Point origin;
  double side_m = 1;
  std::size_t columns = 0, rows = 0;
  std::vector<float> values;

  std::size_t at(Point p) const {
    const auto column = static_cast<std::size_t>((p.x - origin.x) / side_m);
    const auto row = static_cast<std::size_t>((p.y - origin.y) / side_m);
    return std::min(row, rows - 1) * columns + std::min(column, columns - 1);
  }
};

/// Lower envelope of parabolas over one line of squared distances.
struct Envelope {
  std::vector<float> line, result;
  std::vector<std::size_t> apex;
  std::vector<double> from;

  void resize(std::size_t n) {
    line.resize(n), result.resize(n), apex.resize(n), from.resize(n + 1);
  }
  static double meeting(double value_p, double p, double value_q, double q) {
    return (value_q + q * q - value_p - p * p) / (2 * q - 2 * p);
  }
  void transform(std::size_t n) {
    constexpr double infinity = std::numeric_limits<double>::infinity();
    std::size_t last = 0;
    apex[0] = 0, from[0] = -infinity, from[1] = infinity;
    for (std::size_t q = 1; q < n; ++q) {
      const double at = static_cast<double>(q);
      double s = 0;
      for (;; --last) {
        const std::size_t p = apex[last];
        s = meeting(static_cast<double>(line[p]), static_cast<double>(p),
                    static_cast<double>(line[q]), at);
        if (s > from[last] || last == 0) break;
      }
      if (s <= from[last]) s = from[last];
      apex[++last] = q, from[last] = s, from[last + 1] = infinity;
    }
    std::size_t k = 0;
    for (std::size_t q = 0; q < n; ++q) {
      while (from[k + 1] < static_cast<double>(q)) ++k;
      const double offset = static_cast<double>(q) - static_cast<double>(apex[k]);
      result[q] = static_cast<float>(offset * offset + static_cast<double>(line[apex[k]]));
    }
  }
};

/// 0 at sources and far_away elsewhere becomes the squared distance, in cells, to a source.
void squared_distances(Cells& cells, const Work& work) {
  const std::size_t columns = cells.columns, rows = cells.rows;
  const auto along = [&](std::size_t lines, std::size_t length, std::size_t line_step,
                         std::size_t step) {
    for_each_chunk(work, lines, 64, [&](std::size_t begin, std::size_t end, int) {
      Envelope envelope;
      envelope.resize(length);
      for (std::size_t l = begin; l < end; ++l) {
        float* first = cells.values.data() + l * line_step;
        for (std::size_t k = 0; k < length; ++k) envelope.line[k] = first[k * step];
        envelope.transform(length);
        for (std::size_t k = 0; k < length; ++k) first[k * step] = envelope.result[k];
      }
    });
  };
  along(columns, rows, 1, columns);
  along(rows, columns, columns, 1);
}

Cells empty_cells(const Extent& extent, double margin_m, double wanted_side_m) {
  Cells cells;
  const Extent grown = extent.grown(margin_m);
  cells.origin = {grown.x_min, grown.y_min};
  cells.side_m = std::max(wanted_side_m, std::sqrt(grown.width() * grown.height() / most_cells));
  cells.columns = static_cast<std::size_t>(grown.width() / cells.side_m) + 1;
  cells.rows = static_cast<std::size_t>(grown.height() / cells.side_m) + 1;
  return cells;
}

/// Marks the strip of a record by points no farther apart than a cell.
void mark_strip(Cells& cells, Point place, double heading_deg, double length_m, double width_m) {
  if (std::isnan(heading_deg)) {
    cells.values[cells.at(place)] = 0;
    return;
  }
  const double heading = heading_deg * std::numbers::pi / 180;
  const double east = std::sin(heading), north = std::cos(heading);
  const int across = static_cast<int>(std::ceil(width_m / cells.side_m));
  const int along = static_cast<int>(std::ceil(length_m / cells.side_m));
  for (int a = 0; a <= along; ++a)
    for (int c = 0; c <= across; ++c) {
      const double back = length_m * a / along;
      // Half a cell is kept from both edges: a cell that is only touched is not harvested.
      const double right = (width_m - cells.side_m) * (static_cast<double>(c) / across - 0.5);
      cells.values[cells.at(
          {place.x - back * east + right * north, place.y - back * north - right * east})] = 0;
    }
}

}  // namespace

std::optional<HarvestLimit> harvest_limit(const HarvestLog& log, const DrivenLog& driven,
                                          std::span<const char> cuts, double width_m,
                                          const Work& work) {
  Extent extent;
  for (std::size_t i = 0; i < log.size(); ++i)
    if (cuts[i] != 0) extent.include(log.places[i]);
  if (extent.empty() || !(width_m > 0) || !(driven.step_m > 0)) return std::nullopt;
  const double closing_m = 0.6 * width_m;
  Cells cells = empty_cells(extent, 3 * width_m + driven.step_m, width_m / 8);
  if (cells.side_m > width_m / 3) return std::nullopt;
  cells.values.assign(cells.columns * cells.rows, far_away);
  for (std::size_t i = 0; i < log.size(); ++i)
    if (cuts[i] != 0)
      mark_strip(cells, log.places[i], driven.heading_deg[i], driven.step_m, width_m);
  squared_distances(cells, work);
  const auto closing2 = static_cast<float>(std::pow(closing_m / cells.side_m, 2));
  for (float& value : cells.values) value = value <= closing2 ? far_away : 0;
  squared_distances(cells, work);
  HarvestLimit limit;
  limit.cell_m = cells.side_m;
  limit.inside_m.assign(log.size(), nan);
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (cuts[i] == 0) continue;
    const double outside = std::sqrt(static_cast<double>(cells.values[cells.at(log.places[i])]));
    limit.inside_m[i] = outside * cells.side_m - closing_m;
  }
  return limit;
}

}  // namespace evendrip
