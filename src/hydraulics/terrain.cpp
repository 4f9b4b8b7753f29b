// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/terrain.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "doubt_places.hpp"
#include "evendrip/geo/line.hpp"
#include "evendrip/io/raster_file.hpp"
#include "heights.hpp"

namespace evendrip {
namespace {

constexpr double most_cells = 16e6;
constexpr double margin_m = 40;
constexpr double window_m = 20;  ///< common practice, no source
constexpr double window_cells = 6;
constexpr double fewest_samples = 5;

/// Cells as large as the raster's pixels, on its own grid where it is in the field's CRS.
Grid grid_for(const RasterInfo& info, const Field& field) {
  Extent extent = field.extent();
  for (const Manifold& manifold : field.manifolds) extent.include(extent_of(manifold.line));
  double cell = std::sqrt(info.pixel_x_m * info.pixel_y_m) * field.scale_factor;
  const double wide = info.extent.width() / std::max(1, info.columns);
  const double high = info.extent.height() / std::max(1, info.rows);
  const bool own = same_crs(info.crs, field.crs) && std::abs(wide - high) < 1e-6 * wide;
  if (own) cell = wide;
  extent = extent.grown(std::max(margin_m, window_cells * cell));
  const double cells = extent.width() / cell * (extent.height() / cell);
  if (cells > most_cells) cell *= std::ceil(std::sqrt(cells / most_cells));
  if (!own) return grid_over(extent, cell);
  const double left = std::floor((extent.x_min - info.extent.x_min) / cell);
  const double top = std::floor((info.extent.y_max - extent.y_max) / cell);
  Grid grid{info.extent.x_min + left * cell, info.extent.y_max - top * cell, cell, 0, 0};
  grid.columns = static_cast<int>(std::ceil((extent.x_max - grid.x_left) / cell));
  grid.rows = static_cast<int>(std::ceil((grid.y_top - extent.y_min) / cell));
  return grid;
}

/// Metres in a unit of heights as rasters write it; nothing where it is not known.
std::optional<double> metres_in(std::string unit) {
  std::erase_if(unit, [](unsigned char c) { return std::isalpha(c) == 0; });
  std::transform(unit.begin(), unit.end(), unit.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  constexpr double survey_foot_m = 1200.0 / 3937;
  static const std::map<std::string, double> known{{"m", 1},
                                                   {"meter", 1},
                                                   {"metre", 1},
                                                   {"meters", 1},
                                                   {"metres", 1},
                                                   {"cm", 0.01},
                                                   {"ft", 0.3048},
                                                   {"foot", 0.3048},
                                                   {"feet", 0.3048},
                                                   {"internationalfoot", 0.3048},
                                                   {"usft", survey_foot_m},
                                                   {"ftus", survey_foot_m},
                                                   {"ussurveyfoot", survey_foot_m}};
  const auto found = known.find(unit);
  if (found == known.end()) return {};
  return found->second;
}

/// Heights in metres. A raster that does not say its unit is taken as metres; in a field that is
/// measured in feet, or where the unit has no known name, that is told.
double unit_of_heights(const Field& field, const std::string& unit, const Place& place,
                       Doubts& doubts) {
  if (const auto metres = metres_in(unit)) return *metres;
  if (!unit.empty() || (field.stated_crs.known() && field.stated_crs.unit_to_metre != 1)) {
    doubts.push_back({"elevation_unit_not_known", Severity::doubt, place,
                      "the raster does not say in which unit its heights are: metres are taken",
                      unit, "m or ft as the unit of the band",
                      "Write the unit into the raster if the heights are in feet"});
  }
  return 1;
}

Raster read_all(const RasterReader& reader) {
  constexpr int block_rows = 256;
  Raster whole(reader.grid());
  const auto columns = static_cast<std::size_t>(whole.grid.columns);
  for (const Window& window : row_blocks(whole.grid, block_rows)) {
    const Raster part = reader.read(window);
    const auto at = static_cast<std::ptrdiff_t>(static_cast<std::size_t>(window.row) * columns);
    std::copy(part.values.begin(), part.values.end(), whole.values.begin() + at);
    std::copy(part.reasons.begin(), part.reasons.end(), whole.reasons.begin() + at);
  }
  return whole;
}

void leave_outliers_out(Raster& heights, const Place& place, Doubts& doubts) {
  const auto outliers = height_outliers(heights);
  if (outliers.empty()) return;
  for (const HeightOutlier& one : outliers)
    heights.clear(heights.grid.index(one.cell.row, one.cell.column), Reason::source_nodata);
  const HeightOutlier& worst = *std::max_element(
      outliers.begin(), outliers.end(),
      [](const auto& a, const auto& b) { return std::abs(a.off_m) < std::abs(b.off_m); });
  const Point where = heights.grid.centre(worst.cell.row, worst.cell.column);
  doubts.push_back(
      {"elevation_outlier", Severity::doubt, place,
       fmt::format("{} heights lie far off their neighbours and are left out; the farthest at "
                   "{:.1f} E, {:.1f} N",
                   outliers.size(), where.x, where.y),
       fmt::format("{:+.1f} m", worst.off_m), "a height that goes with its neighbours",
       "Look at the raster there; use heights of the bare ground"});
}

}  // namespace

struct Terrain::State {
  Raster heights;
  double scale = 1;  ///< grid over ground length
  Place place;
  Doubts doubts;  ///< of the raster itself, told with the first line

  double cell_ground_m() const { return heights.grid.cell_m / scale; }
};

Terrain::Terrain(const Field& field) : state_(std::make_unique<State>()) {
  state_->scale = field.scale_factor;
  state_->place = layer_place(field, "elevation");
  if (!field.elevation) {
    state_->doubts.push_back({"no_elevation", Severity::doubt, state_->place,
                              "there are no heights: the ground is taken as level", "",
                              "an elevation raster", "Name one in [layers] elevation"});
    return;
  }
  const RasterInfo info = raster_info(*field.elevation);
  const Grid grid = grid_for(info, field);
  state_->heights = read_all(*open_raster_on_grid(*field.elevation, 1, grid, field.crs));
  const double unit_m =
      unit_of_heights(field, info.band_units.front(), state_->place, state_->doubts);
  for (float& height : state_->heights.values) height = static_cast<float>(height * unit_m);
  leave_outliers_out(state_->heights, state_->place, state_->doubts);
}
Terrain::~Terrain() = default;
Terrain::Terrain(Terrain&&) noexcept = default;

bool Terrain::known() const {
  return state_->heights.grid.cells() > 0;
}

double Terrain::at(Point place) const {
  if (!known()) return 0;
  if (const auto height = value_at(state_->heights, place)) return *height;
  return nearest_height(state_->heights, place).value_or(0);
}

ElevationProfile Terrain::along(const Line& line, const std::vector<double>& stations_m,
                                Doubts& doubts) const {
  for (const Doubt& doubt : state_->doubts) tell_once(doubts, doubt);
  ElevationProfile profile;
  profile.elevation_m.assign(stations_m.size(), 0.0);
  if (!known() || line.empty()) return profile;
  const double length = length_m(line) / state_->scale;
  if (!(length > 0)) {
    std::fill(profile.elevation_m.begin(), profile.elevation_m.end(), at(line.front()));
    return profile;
  }
  const double intervals =
      std::max(fewest_samples - 1, std::ceil(length / state_->cell_ground_m()));
  std::vector<double> stations;
  std::vector<double> heights;
  bool gap = false;
  for (int i = 0; i <= intervals; ++i) {
    stations.push_back(length * i / intervals);
    const Point p = point_at(line, stations.back() * state_->scale);
    const auto height = value_at(state_->heights, p);
    gap = gap || !height;
    heights.push_back(height ? *height : nearest_height(state_->heights, p).value_or(0));
  }
  if (gap) {
    tell_once(doubts, {"elevation_gap", Severity::doubt, state_->place,
                       "some lines lie partly where the raster has no heights: the nearest height "
                       "is taken there",
                       "", "heights under every line", "Use a raster that covers the field"});
  }
  const double half_window =
      0.5 * std::max({window_m, window_cells * state_->cell_ground_m(), 4 * length / intervals});
  const LocalLine smooth(std::move(stations), std::move(heights), half_window);
  std::transform(stations_m.begin(), stations_m.end(), profile.elevation_m.begin(),
                 [&](double s) { return smooth.at(std::clamp(s, 0.0, length)); });
  profile.sd_m = smooth.sd();
  return profile;
}

}  // namespace evendrip
