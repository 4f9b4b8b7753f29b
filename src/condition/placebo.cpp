// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/placebo.hpp"

#include "evendrip/geo/line.hpp"
#include "evendrip/surface/mean_bearing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

namespace evendrip {
namespace {

constexpr std::array<double, 10> turns_deg = {15, 30, 45, 60, 75, -15, -30, -45, -60, -75};
constexpr std::array<double, 2> shifts_in_spacings = {0, 0.5};
constexpr double highest_rank = 0.1;
/// Standard deviations of the parts of r that are tried, all parts alike.
constexpr std::array<double, 4> water_sds = {0.01, 0.025, 0.06, 0.15};
constexpr double no_water = 1e-4;
constexpr std::size_t fewest_data = 30;

ConditionParameters with_water(ConditionParameters p, double sd) {
  p.along = p.own = p.group = p.local = sd;
  return p;
}

/// How much better the crop is explained with parts of r than by soil and error alone, over the
/// sizes of the parts; nothing where the equations cannot be solved.
std::optional<double> gain_of(const SegmentGrid& grid, const std::vector<CropDatum>& crop,
                              double pixel_m, const ConditionParameters& p) {
  const ZoneModel model(grid, {}, crop, ranges_of(grid, pixel_m));
  const auto without = model.log_likelihood(with_water(p, no_water));
  if (!without) return {};
  double best = 0;
  for (const double sd : water_sds)
    if (const auto with = model.log_likelihood(with_water(p, sd)))
      best = std::max(best, *with - *without);
  return best;
}

double bearing_of(const Field& field, const SegmentGrid& grid) {
  MeanBearing mean;
  for (const int lateral : grid.laterals)
    mean.add(bearing_deg(field.laterals[static_cast<std::size_t>(lateral)].line));
  return mean.degrees();
}

double spacing_of(const Field& field, const SegmentGrid& grid) {
  if (grid.rows() > 1) return grid.across_m.back() / (grid.rows() - 1);
  const double stated_m = field.zones[static_cast<std::size_t>(grid.zone)].lateral.spacing_m;
  return stated_m > 0 ? stated_m : 1;
}

/// The zone with laterals of another bearing in place of its own.
Field with_layout(const Field& field, int zone, const LateralLayout& layout, double shift_m) {
  Field other;
  other.crs = field.crs;
  other.scale_factor = field.scale_factor;
  other.zones = field.zones;
  const double turned = layout.bearing_deg * std::acos(-1.0) / 180;
  const Point aside{shift_m * std::cos(turned), -shift_m * std::sin(turned)};
  for (Line line : lay_out_laterals(field.zones[static_cast<std::size_t>(zone)].area, layout)) {
    for (Point& p : line) p = {p.x + aside.x, p.y + aside.y};
    Lateral lateral;
    lateral.zone = zone;
    lateral.length_m = length_m(line) / field.scale_factor;
    lateral.line = std::move(line);
    other.laterals.push_back(std::move(lateral));
  }
  return other;
}

std::string told(const PlaceboRank& rank) {
  if (rank.layouts == 0) return "no other layout could be tried: the crop is not blamed on water";
  return fmt::format(
      "{} of {} layouts that are not there, turned and shifted, explain the crop as well as the "
      "laterals that are: {}",
      rank.better, rank.layouts,
      rank.stands_out ? "the true ones stand out" : "the crop does not follow the laterals");
}

}  // namespace

PlaceboRank placebo_rank(const Field& field, int zone, const SegmentGrid& grid,
                         const CropEvidence& evidence, const std::vector<CropDatum>& crop,
                         const ConditionParameters& parameters, const Work& work,
                         double roots_reach) {
  PlaceboRank rank;
  const double pixel_m = std::max(evidence.typical.along_m, evidence.typical.across_m);
  const auto own =
      crop.size() < fewest_data ? std::nullopt : gain_of(grid, crop, pixel_m, parameters);
  if (!own) {
    rank.told = told(rank);
    return rank;
  }
  rank.gain = *own;
  const double spacing_m = spacing_of(field, grid);
  const double bearing = bearing_of(field, grid);
  constexpr std::size_t count = turns_deg.size() * shifts_in_spacings.size();
  std::array<std::optional<double>, count> gains;
  const Work inner{1, work.stop, {}};
  for_each_chunk(work, count, 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) {
      LateralLayout layout;
      layout.bearing_deg = bearing + turns_deg[i % turns_deg.size()];
      layout.spacing_m = spacing_m * field.scale_factor;
      const double shift = shifts_in_spacings[i / turns_deg.size()] * layout.spacing_m;
      const Field other = with_layout(field, zone, layout, shift);
      if (other.laterals.size() < 3) continue;
      const SegmentGrid turned = segment_grid(other, zone, grid.step_m);
      std::vector<CropDatum> seen = crop_data(other, turned, evidence, inner, roots_reach);
      if (seen.size() < fewest_data) continue;
      gains[i] = gain_of(turned, seen, pixel_m, parameters);
    }
  });
  for (const auto& gain : gains) {
    if (!gain) continue;
    rank.placebos.push_back(*gain);
    ++rank.layouts;
    if (*gain >= rank.gain) ++rank.better;
  }
  rank.p = static_cast<double>(rank.better + 1) / static_cast<double>(rank.layouts + 1);
  rank.stands_out = rank.layouts > 0 && rank.p <= highest_rank;
  rank.told = told(rank);
  return rank;
}

}  // namespace evendrip
