// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/site_map.hpp"

#include "zone_cells.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <span>
#include <utility>

namespace evendrip {
namespace {

constexpr int leaf_cells = 16;  ///< side of the squares whose cells share their candidates
constexpr double infinite = std::numeric_limits<double>::infinity();

/// A straight piece of a lateral, in coordinates less the grid's corner.
struct Piece {
  Point start;
  Point along;  ///< end less start
  double per_length2 = 0;
  double length_m = 0;
  double station_m = 0;  ///< of its start, on the grid
  int lateral = -1;
};
using Pieces = std::vector<Piece>;

void add_pieces(const Line& line, int lateral, Point origin, Pieces& pieces) {
  double station = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const bool last = i + 1 == line.size();
    if (last && i > 0) break;
    const Point& end = line[last ? i : i + 1];
    Piece piece;
    piece.start = {line[i].x - origin.x, line[i].y - origin.y};
    piece.along = {end.x - line[i].x, end.y - line[i].y};
    piece.length_m = distance_m(line[i], end);
    const double length2 = piece.length_m * piece.length_m;
    piece.per_length2 = length2 > 0 ? 1 / length2 : 0;
    piece.station_m = station;
    piece.lateral = lateral;
    pieces.push_back(piece);
    station += piece.length_m;
  }
}

struct Foot {
  double share = 0;  ///< along the piece
  double distance2_m2 = 0;
};
Foot foot_on(const Piece& piece, double x, double y) {
  const double dx = x - piece.start.x;
  const double dy = y - piece.start.y;
  const double along = (dx * piece.along.x + dy * piece.along.y) * piece.per_length2;
  const double share = along < 0 ? 0 : along > 1 ? 1 : along;
  const double off_x = dx - share * piece.along.x;
  const double off_y = dy - share * piece.along.y;
  return {share, off_x * off_x + off_y * off_y};
}

/// Sites of the cells of one zone in a window, found square by square: what is nearest to a cell
/// is no farther from the middle of a square than the nearest piece there by twice its radius.
class ZoneSearch {
 public:
  ZoneSearch(const Grid& grid, const Window& window, std::span<const int> zones, double scale,
             std::vector<Site>& sites)
      : cell_m_(grid.cell_m), window_(window), zones_(zones), scale_(scale), sites_(sites) {}

  /// `rows` and `columns` of `part` count from the window's corner.
  void descend(int zone, const Window& part, std::span<const Piece> pieces) {
    const Pieces near = those_near(part, pieces);
    if (part.rows <= leaf_cells && part.columns <= leaf_cells) {
      for (int r = part.row; r < part.row + part.rows; ++r) fill_row(zone, r, part, near);
      return;
    }
    Window first = part;
    Window second = part;
    if (part.columns >= part.rows) {
      first.columns = part.columns / 2;
      second.column += first.columns;
      second.columns -= first.columns;
    } else {
      first.rows = part.rows / 2;
      second.row += first.rows;
      second.rows -= first.rows;
    }
    descend(zone, first, near);
    descend(zone, second, near);
  }

 private:
  double x_of(double column) const { return (window_.column + column) * cell_m_; }
  double y_of(double row) const { return -(window_.row + row) * cell_m_; }

  Pieces those_near(const Window& part, std::span<const Piece> pieces) const {
    const double x = x_of(part.column + part.columns / 2.0);
    const double y = y_of(part.row + part.rows / 2.0);
    const double radius = std::hypot(part.columns - 1, part.rows - 1) / 2 * cell_m_;
    double least2 = infinite;
    for (const Piece& piece : pieces) least2 = std::min(least2, foot_on(piece, x, y).distance2_m2);
    // A hair wider than the geometry asks: rounding must not lose a piece.
    const double reach =
        std::sqrt(least2) + 2 * radius + 1e-9 * (1 + std::abs(x) + std::abs(y) + radius);
    Pieces near;
    for (const Piece& piece : pieces) {
      if (foot_on(piece, x, y).distance2_m2 <= reach * reach) near.push_back(piece);
    }
    return near;
  }

  void fill_row(int zone, int row, const Window& part, std::span<const Piece> pieces) {
    std::array<double, leaf_cells> least2;
    std::array<double, leaf_cells> station;
    std::array<int, leaf_cells> lateral;
    least2.fill(infinite);
    station.fill(0);
    lateral.fill(-1);
    const double y = y_of(row + 0.5);
    for (const Piece& piece : pieces) {
      for (std::size_t k = 0; k < static_cast<std::size_t>(part.columns); ++k) {
        const Foot foot = foot_on(piece, x_of(part.column + static_cast<double>(k) + 0.5), y);
        if (!(foot.distance2_m2 < least2[k])) continue;
        least2[k] = foot.distance2_m2;
        station[k] = piece.station_m + foot.share * piece.length_m;
        lateral[k] = piece.lateral;
      }
    }
    const std::size_t first =
        static_cast<std::size_t>(row) * static_cast<std::size_t>(window_.columns) +
        static_cast<std::size_t>(part.column);
    for (std::size_t k = 0; k < static_cast<std::size_t>(part.columns); ++k) {
      if (zones_[first + k] != zone) continue;
      sites_[first + k].lateral = lateral[k];
      sites_[first + k].station_m = station[k] / scale_;
    }
  }

  double cell_m_;
  const Window& window_;
  std::span<const int> zones_;
  double scale_;
  std::vector<Site>& sites_;
};

/// For each zone the smallest window, from the corner of `window`, that holds its cells.
std::vector<Window> windows_of_zones(std::size_t count, const Window& window,
                                     std::span<const int> zones) {
  std::vector<Window> out(count);
  for (int r = 0; r < window.rows; ++r) {
    for (int c = 0; c < window.columns; ++c) {
      const int zone =
          zones[static_cast<std::size_t>(r) * static_cast<std::size_t>(window.columns) +
                static_cast<std::size_t>(c)];
      if (zone < 0) continue;
      Window& held = out[static_cast<std::size_t>(zone)];
      if (held.empty()) {
        held = {r, c, 1, 1};
        continue;
      }
      const int right = std::max(held.column + held.columns, c + 1);
      held.column = std::min(held.column, c);
      held.columns = right - held.column;
      held.rows = r + 1 - held.row;
    }
  }
  return out;
}

}  // namespace

struct SiteMap::State {
  Grid grid;
  std::vector<MultiPolygon> areas;
  std::vector<Pieces> pieces;  ///< of the laterals of each zone
  double scale_factor = 1;
};

SiteMap::SiteMap(const Field& field, const Grid& grid) : state_(std::make_unique<State>()) {
  state_->grid = grid;
  state_->areas = areas_of(field);
  state_->scale_factor = field.scale_factor;
  state_->pieces.resize(field.zones.size());
  const Point origin{grid.x_left, grid.y_top};
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if (lateral.zone < 0) continue;
    add_pieces(lateral.line, static_cast<int>(i), origin,
               state_->pieces.at(static_cast<std::size_t>(lateral.zone)));
  }
}
SiteMap::~SiteMap() = default;
SiteMap::SiteMap(SiteMap&&) noexcept = default;

std::vector<Site> SiteMap::over(const Window& window) const {
  const std::vector<int> zones = zones_of_cells(state_->areas, state_->grid, window);
  std::vector<Site> sites(zones.size());
  std::size_t i = 0;
  for (int r = 0; r < window.rows; ++r) {
    for (int c = 0; c < window.columns; ++c, ++i) {
      sites[i].place = state_->grid.centre(window.row + r, window.column + c);
      sites[i].zone = zones[i];
    }
  }
  ZoneSearch search(state_->grid, window, zones, state_->scale_factor, sites);
  const std::vector<Window> held = windows_of_zones(state_->areas.size(), window, zones);
  for (std::size_t z = 0; z < held.size(); ++z) {
    if (!held[z].empty() && !state_->pieces[z].empty())
      search.descend(static_cast<int>(z), held[z], state_->pieces[z]);
  }
  return sites;
}

}  // namespace evendrip
