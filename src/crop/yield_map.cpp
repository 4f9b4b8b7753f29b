// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/yield_map.hpp"

#include "evendrip/surface/estimators.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <stdexcept>
#include <string_view>
#include <utility>

namespace evendrip {
namespace {

constexpr double reach_in_widths = 3;
/// Longest distance of the variogram, in the longer of cell and swath: local kriging leans on no
/// pair farther apart than a fraction of it.
constexpr double cutoff_in_widths = 12;
/// Samples from which the variogram takes its pairs: thousands for each lag already.
constexpr int western_ends = 4000;
/// Least nugget, as a share of the sill: the equations stay solvable where points all but coincide.
constexpr double least_nugget = 1e-6;

Samples samples_of(std::span<const Point> places, std::span<const double> values) {
  Samples samples;
  samples.reserve(places.size());
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (!std::isfinite(values[i])) continue;
    Sample sample;
    sample.site.place = places[i];
    sample.value = values[i];
    samples.push_back(sample);
  }
  return samples;
}

/// By Welford's update over sorted values, so that the order of the points does not count.
double variance_of(const Samples& samples) {
  std::vector<double> values;
  values.reserve(samples.size());
  for (const Sample& sample : samples) values.push_back(sample.value);
  std::sort(values.begin(), values.end());
  double mean = 0;
  double squares = 0;
  double count = 0;
  for (const double value : values) {
    const double step = value - mean;
    mean += step / ++count;
    squares += step * (value - mean);
  }
  return count > 1 ? squares / (count - 1) : 0;
}

double diagonal_m(const Samples& samples) {
  Extent extent;
  for (const Sample& sample : samples) extent.include(sample.site.place);
  return extent.empty() ? 0 : std::hypot(extent.width(), extent.height());
}

std::vector<VariogramLag> lags_of(const Samples& samples, double width_m) {
  MomentOptions options;
  options.cutoff_m = std::min(diagonal_m(samples) / 3, cutoff_in_widths * width_m);
  options.western_ends = western_ends;
  return moment_variogram(samples, options);
}

/// The best model, or the nugget alone where neighbours are no more alike than others.
VariogramModel model_of(const Samples& samples, std::span<const VariogramLag> lags) {
  const std::optional<VariogramFit> fit = fit_best_variogram(lags, usual_shapes);
  if (!fit) return {VariogramShape::nugget, variance_of(samples), 0, 1, 0, 1};
  VariogramModel model = fit->model;
  model.nugget = std::max(model.nugget, least_nugget * model.partial_sill);
  return model;
}

std::string method_of(const VariogramModel& model, const YieldMapOptions& options,
                      double within_m) {
  const auto length = [&](double m) {
    return format_quantity(m, Dimension::length, options.units, 3);
  };
  const auto squared = [&](double variance) {
    const std::string_view unit = report_unit(Dimension::yield, options.units);
    const double factor = from_canonical(1, unit, Dimension::yield);
    const double value = variance * factor * factor;
    return fmt::format("{} ({})\u00b2",
                       value < 1000 ? fmt::format("{:.3g}", value) : fmt::format("{:.0f}", value),
                       unit);
  };
  if (model.shape == VariogramShape::nugget)
    return fmt::format(
        "mean of up to {} nearest points within {}: neighbouring points are no more alike "
        "than any others",
        options.most, length(within_m));
  return fmt::format(
      "block kriging from up to {} nearest points within {}, {} x {} points in a cell; {} "
      "variogram with nugget {}, partial sill {} and range parameter {}",
      options.most, length(within_m), options.points_per_side, options.points_per_side,
      to_text(model.shape), squared(model.nugget), squared(model.partial_sill),
      length(model.range_m));
}

void check(std::span<const Point> places, std::span<const double> yields, const Grid& grid,
           std::span<const std::uint8_t> wanted, const YieldMapOptions& options) {
  if (places.size() != yields.size())
    throw std::invalid_argument("a yield map needs one yield for each point");
  if (!wanted.empty() && wanted.size() != grid.cells())
    throw std::invalid_argument("wanted cells are flagged one by one, or not at all");
  if (options.most < 1 || options.points_per_side < 1)
    throw std::invalid_argument("a yield map takes at least one point");
}

/// `scale`: of variances; 0 where all values are one and the same.
void keep(OrdinaryKriging::Surfaces surfaces, double scale, YieldMap& map) {
  map.yield = std::move(surfaces.value);
  map.standard_error = std::move(surfaces.variance);
  for (std::size_t i = 0; i < map.yield.grid.cells(); ++i) {
    if (map.yield.reasons[i] == Reason::too_few) {
      map.yield.clear(i, Reason::no_source);
      map.standard_error.clear(i, Reason::no_source);
    } else if (map.yield.has_value(i)) {
      map.standard_error.set(i, std::sqrt(scale * double{map.standard_error.values[i]}));
    }
  }
}

}  // namespace

YieldMap map_yield(std::span<const Point> places, std::span<const double> yields, const Grid& grid,
                   std::span<const std::uint8_t> wanted, const YieldMapOptions& options,
                   const Work& work) {
  check(places, yields, grid, wanted, options);
  const Samples samples = samples_of(places, yields);
  const double width_m = std::max(grid.cell_m, options.swath_m);
  const double within_m = options.within_m > 0 ? options.within_m : reach_in_widths * width_m;
  YieldMap map;
  map.lags = lags_of(samples, width_m);
  map.variogram = options.variogram ? *options.variogram : model_of(samples, map.lags);
  map.method_text = method_of(map.variogram, options, within_m);
  if (samples.size() == 1) {
    const Raster none(grid, Reason::too_few);
    map.yield = map.standard_error = none;
    return map;
  }
  VariogramModel solved = map.variogram;
  const bool varies = solved.nugget + solved.partial_sill > 0;
  if (!varies) solved.nugget = 1;
  const OrdinaryKriging kriging(samples, solved, {options.most, within_m, 1});
  keep(kriging.means_over(grid, {0, 0, grid.rows, grid.columns}, wanted, options.points_per_side,
                          work),
       varies ? 1 : 0, map);
  return map;
}

StabilityMap stability_of(std::span<const Raster> relative_seasons) {
  if (relative_seasons.size() < 2)
    throw std::invalid_argument("a stability map needs at least two seasons");
  const Grid& grid = relative_seasons.front().grid;
  for (const Raster& season : relative_seasons) {
    if (season.grid != grid) throw std::invalid_argument("seasons stand on one grid");
  }
  StabilityMap out{Raster(grid), Raster(grid), static_cast<int>(relative_seasons.size()), {}};
  for (std::size_t i = 0; i < grid.cells(); ++i) {
    double count = 0;
    double mean = 0;
    double squares = 0;
    Reason why = Reason::value;
    for (const Raster& season : relative_seasons) {
      if (!season.has_value(i)) {
        why = season.reasons[i];
        continue;
      }
      const double step = double{season.values[i]} - mean;
      mean += step / ++count;
      squares += step * (double{season.values[i]} - mean);
    }
    if (count < 2) {
      out.level.clear(i, count == 0 ? why : Reason::too_few);
      out.variation.clear(i, count == 0 ? why : Reason::too_few);
      continue;
    }
    out.level.set(i, mean);
    out.variation.set(i, std::sqrt(squares / (count - 1)));
  }
  out.method_text = fmt::format(
      "mean and standard deviation of the relative yield over {} seasons, where at least two have "
      "a value",
      out.seasons);
  return out;
}

}  // namespace evendrip
