// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/variogram.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <tuple>

namespace evendrip {
namespace {

/// 1 minus the correlation at distance h, for ranges of 1.
double rise(VariogramShape shape, double h) {
  switch (shape) {
    case VariogramShape::nugget:
      return 0;
    case VariogramShape::exponential:
      return -std::expm1(-h);
    case VariogramShape::spherical:
      return h < 1 ? h * (1.5 - 0.5 * h * h) : 1;
    case VariogramShape::gaussian:
      return -std::expm1(-h * h);
    case VariogramShape::matern32:
      return 1 - (1 + h) * std::exp(-h);
    case VariogramShape::matern52:
      return 1 - (1 + h + h * h / 3) * std::exp(-h);
    case VariogramShape::linear:
      return h;
  }
  return 0;
}

/// Samples from west to east: the index through which pairs within the cutoff are found, and an
/// order of summing that does not depend on the order of the samples.
Samples from_west_to_east(Samples samples) {
  std::sort(samples.begin(), samples.end(), [](const Sample& a, const Sample& b) {
    return std::tie(a.site.place.x, a.site.place.y, a.value, a.site.zone) <
           std::tie(b.site.place.x, b.site.place.y, b.value, b.site.zone);
  });
  return samples;
}

double default_cutoff_m(const Samples& samples) {
  Extent extent;
  for (const Sample& sample : samples) extent.include(sample.site.place);
  return extent.empty() ? 0 : std::hypot(extent.width(), extent.height()) / 3;
}

bool may_pair(const Sample& a, const Sample& b, const MomentOptions& options) {
  return !options.within_zone_only || a.site.zone == b.site.zone || a.site.zone < 0 ||
         b.site.zone < 0;
}

/// Sums of one lag before they are divided.
struct LagSums {
  std::size_t pairs = 0;
  double distance_m = 0;
  double squares = 0;
};

std::vector<VariogramLag> means_of(const std::vector<LagSums>& sums) {
  std::vector<VariogramLag> lags;
  for (const LagSums& sum : sums) {
    if (sum.pairs == 0) continue;
    const double n = static_cast<double>(sum.pairs);
    lags.push_back({sum.pairs, sum.distance_m / n, sum.squares / (2 * n)});
  }
  return lags;
}

}  // namespace

std::string to_text(VariogramShape shape) {
  switch (shape) {
    case VariogramShape::nugget:
      return "nugget";
    case VariogramShape::exponential:
      return "exponential";
    case VariogramShape::spherical:
      return "spherical";
    case VariogramShape::gaussian:
      return "Gaussian";
    case VariogramShape::matern32:
      return "Matern 3/2";
    case VariogramShape::matern52:
      return "Matern 5/2";
    case VariogramShape::linear:
      return "linear";
  }
  return "";
}

double semivariance(const VariogramModel& model, double distance_m) {
  if (distance_m <= 0) return 0;
  if (model.shape == VariogramShape::nugget) return model.nugget;
  const double h = model.shape == VariogramShape::linear ? distance_m : distance_m / model.range_m;
  return model.nugget + model.partial_sill * rise(model.shape, h);
}

std::vector<VariogramLag> moment_variogram(const Samples& samples, const MomentOptions& options) {
  const double cutoff_m = options.cutoff_m > 0 ? options.cutoff_m : default_cutoff_m(samples);
  if (!(cutoff_m > 0) || options.lags < 1) return {};
  const Samples sorted = from_west_to_east(samples);
  const double width_m = cutoff_m / options.lags;
  std::vector<LagSums> sums(static_cast<std::size_t>(options.lags));
  for (std::size_t i = 0; i < sorted.size(); ++i) {
    const Point& here = sorted[i].site.place;
    for (std::size_t j = i + 1; j < sorted.size(); ++j) {
      const Point& there = sorted[j].site.place;
      if (there.x - here.x > cutoff_m) break;
      const double distance = distance_m(here, there);
      if (distance > cutoff_m || !may_pair(sorted[i], sorted[j], options)) continue;
      const int lag = static_cast<int>(std::ceil(distance / width_m)) - 1;
      LagSums& sum = sums[static_cast<std::size_t>(std::clamp(lag, 0, options.lags - 1))];
      const double difference = sorted[i].value - sorted[j].value;
      ++sum.pairs;
      sum.distance_m += distance;
      sum.squares += difference * difference;
    }
  }
  return means_of(sums);
}

}  // namespace evendrip
