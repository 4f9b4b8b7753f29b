// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_data.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <utility>

#include "evendrip/geo/index.hpp"

namespace evendrip {
namespace {

constexpr std::array<double, 5> across_box = {-0.4, -0.2, 0, 0.2, 0.4};
/// Variance of those five places over that of the box, 1/12.
constexpr double spread_of_places = 0.08 * 12;
constexpr double least_share_inside = 0.9;
constexpr std::size_t chunk = 256;
constexpr int rows_beside = 2;
constexpr double least_weight = 0.03;
constexpr double least_relief_m = 0.1;     ///< standard deviation, from which height is a term
constexpr double least_unit_share = 0.05;  ///< of a zone's data
constexpr std::size_t most_units = 8;

/// Side of a box as spread out as one of `side_m` with the blur.
double blurred_side_m(double side_m, double blur_m) {
  return std::sqrt((side_m * side_m + 12 * blur_m * blur_m) / spread_of_places);
}

class Footprints {
 public:
  Footprints(const Field& field, const SegmentGrid& grid, double roots_reach)
      : field_(field),
        grid_(grid),
        zone_(field.zones[static_cast<std::size_t>(grid.zone)].area),
        extent_(extent_of(zone_)),
        index_(lines_of(field, grid)),
        reach_m_(roots_reach * grid.spacing_m()) {}

  /// Segments with their shares; none where too little lies in the zone.
  CropDatum datum_of(const EvidenceDatum& seen) const {
    CropDatum datum;
    datum.place = seen.place;
    if (!extent_.contains(seen.place)) return datum;
    const double along_m = blurred_side_m(seen.along_m, seen.blur_m) * field_.scale_factor;
    const double across_m = blurred_side_m(seen.across_m, seen.blur_m) * field_.scale_factor;
    const double heading =
        std::isfinite(seen.heading_deg) ? seen.heading_deg * std::numbers::pi / 180 : 0;
    const Point ahead{std::sin(heading), std::cos(heading)};
    if (sees_beyond(seen, ahead)) return datum;
    std::map<int, double> shares;
    int inside = 0;
    for (const double u : across_box)
      for (const double v : across_box) {
        const Point p{seen.place.x + u * along_m * ahead.x + v * across_m * ahead.y,
                      seen.place.y + u * along_m * ahead.y - v * across_m * ahead.x};
        if (!contains(zone_, p)) continue;
        add_water_of(p, shares);
        ++inside;
      }
    const auto places = static_cast<double>(across_box.size() * across_box.size());
    if (inside < least_share_inside * places) return datum;
    const NearLine near = index_.nearest(seen.place, 1).front();
    const double station_m = near.projection.station_m / field_.scale_factor;
    datum.station_m = station_m;
    const Point side{ahead.y, -ahead.x};
    const Point lines{-grid_.across.y, grid_.across.x};
    datum.length_m = (std::abs(ahead.x * lines.x + ahead.y * lines.y) * along_m +
                      std::abs(side.x * lines.x + side.y * lines.y) * across_m) /
                     field_.scale_factor;
    datum.to_ends_m = {station_m, grid_.lengths_m[static_cast<std::size_t>(near.line)] - station_m};
    for (const auto& [segment, share] : shares) {
      datum.segments.push_back(segment);
      datum.weights.push_back(share / inside);
    }
    return datum;
  }

 private:
  /// Whether its box, moved by twice the blur, leaves the zone: there, a raster a little beside its
  /// place shows bare ground on the outermost lateral.
  bool sees_beyond(const EvidenceDatum& seen, Point ahead) const {
    const double along_m = (0.5 * seen.along_m + 2 * seen.blur_m) * field_.scale_factor;
    const double across_m = (0.5 * seen.across_m + 2 * seen.blur_m) * field_.scale_factor;
    for (const double u : {-1.0, 0.0, 1.0})
      for (const double v : {-1.0, 0.0, 1.0})
        if (!contains(zone_, Point{seen.place.x + u * along_m * ahead.x + v * across_m * ahead.y,
                                   seen.place.y + u * along_m * ahead.y - v * across_m * ahead.x}))
          return true;
    return false;
  }

  static std::vector<Line> lines_of(const Field& field, const SegmentGrid& grid) {
    std::vector<Line> lines;
    lines.reserve(grid.laterals.size());
    for (const int lateral : grid.laterals)
      lines.push_back(field.laterals[static_cast<std::size_t>(lateral)].line);
    return lines;
  }

  /// Laterals that give water to plants at a place, by the roots' reach.
  void add_water_of(Point p, std::map<int, double>& shares) const {
    const NearLine near = index_.nearest(p, 1).front();
    const int station = grid_.station_of(near.projection.station_m / field_.scale_factor);
    const Point foot = near.projection.foot;
    const double across_m =
        grid_.across_m[static_cast<std::size_t>(near.line)] +
        ((p.x - foot.x) * grid_.across.x + (p.y - foot.y) * grid_.across.y) / field_.scale_factor;
    const double nearest =
        std::pow((grid_.across_m[static_cast<std::size_t>(near.line)] - across_m) / reach_m_, 2);
    std::array<double, 2 * rows_beside + 1> weights{};
    double sum = 0;
    for (int k = -rows_beside; k <= rows_beside; ++k) {
      const int row = near.line + k;
      const int slot = k + rows_beside;
      if (row < 0 || row >= grid_.rows() || (k != 0 && !grid_.present(row, station))) continue;
      const double off = (grid_.across_m[static_cast<std::size_t>(row)] - across_m) / reach_m_;
      const double weight = std::exp(0.5 * (nearest - off * off));
      if (weight < least_weight) continue;
      weights[static_cast<std::size_t>(slot)] = weight;
      sum += weight;
    }
    for (int k = -rows_beside; k <= rows_beside; ++k) {
      const int slot = k + rows_beside;
      const double weight = weights[static_cast<std::size_t>(slot)];
      if (weight > 0) shares[grid_.segment(near.line + k, station)] += weight / sum;
    }
  }

  const Field& field_;
  const SegmentGrid& grid_;
  const MultiPolygon& zone_;
  Extent extent_;
  LineIndex index_;
  double reach_m_;  ///< standard deviation across the laterals
};

/// Columns of the ground under some data of a zone: each of mean 0, heights of standard deviation
/// 1, units of the soil map 1 apart from the rest; the commonest unit is the one they are over.
class GroundColumns {
 public:
  GroundColumns(const CropEvidence& evidence, const std::vector<std::size_t>& used)
      : evidence_(evidence), used_(used) {
    add_elevation();
    add_soil();
  }
  void fill(std::vector<CropDatum>& data) const {
    for (std::size_t i = 0; i < data.size(); ++i)
      for (const std::vector<double>& column : columns_) data[i].ground.push_back(column[i]);
  }

 private:
  const EvidenceDatum& datum(std::size_t i) const { return evidence_.data[used_[i]]; }

  void add_elevation() {
    std::vector<double> heights_m;
    for (std::size_t i = 0; i < used_.size(); ++i) heights_m.push_back(datum(i).elevation_m);
    const double mean_m = centre(heights_m);
    if (!std::isfinite(mean_m)) return;
    double squares = 0;
    for (const double off_m : heights_m) squares += off_m * off_m;
    const double sd_m = std::sqrt(squares / static_cast<double>(heights_m.size()));
    if (!(sd_m > least_relief_m)) return;
    for (double& off_m : heights_m) off_m /= sd_m;
    columns_.push_back(std::move(heights_m));
  }

  void add_soil() {
    const auto n = static_cast<double>(used_.size());
    std::vector<std::pair<double, int>> shares;
    for (int unit = 0; unit < static_cast<int>(evidence_.soil_units.size()); ++unit) {
      const auto there = std::count_if(used_.begin(), used_.end(), [&](std::size_t i) {
        return evidence_.data[i].soil_unit == unit;
      });
      if (static_cast<double>(there) >= least_unit_share * n)
        shares.emplace_back(static_cast<double>(there) / n, unit);
    }
    std::stable_sort(shares.begin(), shares.end(),
                     [](const auto& a, const auto& b) { return a.first > b.first; });
    const bool some_are_other = shares.size() == 1 && shares.front().first <= 1 - least_unit_share;
    for (std::size_t k = some_are_other ? 0 : 1; k < std::min(shares.size(), most_units); ++k) {
      std::vector<double> column;
      for (std::size_t i = 0; i < used_.size(); ++i)
        column.push_back(datum(i).soil_unit == shares[k].second ? 1 : 0);
      centre(column);
      columns_.push_back(std::move(column));
    }
  }

  /// Takes the mean out and returns it.
  static double centre(std::vector<double>& column) {
    double mean = 0;
    for (const double value : column) mean += value / static_cast<double>(column.size());
    for (double& value : column) value -= mean;
    return mean;
  }

  const CropEvidence& evidence_;
  const std::vector<std::size_t>& used_;
  std::vector<std::vector<double>> columns_;
};

}  // namespace

std::vector<HoleDatum> hole_data(const SegmentGrid& grid, const Samples& samples) {
  std::vector<HoleDatum> holes;
  for (const Sample& sample : samples) {
    const int row = grid.row_of(sample.site.lateral);
    if (row < 0) continue;
    holes.push_back({row, grid.station_of(sample.site.station_m), sample.value,
                     sample.noise_variance, sample.site.station_m});
  }
  return holes;
}

std::vector<CropDatum> crop_data(const Field& field, const SegmentGrid& grid,
                                 const CropEvidence& evidence, const Work& work,
                                 double roots_reach) {
  if (!(evidence.median > 0)) return {};
  const Footprints footprints(field, grid, roots_reach);
  std::vector<CropDatum> all(evidence.data.size());
  for_each_chunk(work, all.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i)
      if (!evidence.data[i].marked) all[i] = footprints.datum_of(evidence.data[i]);
  });
  const bool high_is_poor = evidence.kind == "canopy_temperature";
  std::vector<CropDatum> data;
  std::vector<std::size_t> used;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const double value = evidence.data[i].value;
    if (all[i].segments.empty() || !std::isfinite(value) || (high_is_poor && !(value > 0)))
      continue;
    all[i].value = high_is_poor ? evidence.median / value : value / evidence.median;
    data.push_back(std::move(all[i]));
    used.push_back(i);
  }
  GroundColumns(evidence, used).fill(data);
  return data;
}

CropEvidence moved_across(CropEvidence layer, const Field& field, const SegmentGrid& grid,
                          double across_m) {
  const double by = across_m * field.scale_factor;
  for (EvidenceDatum& datum : layer.data) {
    datum.place.x += by * grid.across.x;
    datum.place.y += by * grid.across.y;
  }
  return layer;
}

ResponsePrior usual_response(const std::string& kind) {
  return kind == "yield" ? ResponsePrior{0.8, 0.5} : ResponsePrior{0.3, 0.8};
}

}  // namespace evendrip
