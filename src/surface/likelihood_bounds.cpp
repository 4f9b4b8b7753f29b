// SPDX-License-Identifier: Apache-2.0
#include "likelihood_search.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>

namespace evendrip::likelihood {
namespace {

constexpr double largest_variance = 1e3;  ///< times that of the values about the trend
constexpr double smallest_variance = 1e-7;
constexpr double small_variance = 0.02;  ///< moves by steps of its size
constexpr double smallest_ratio = 0.02;
constexpr double least_extent = 4;  ///< longest over shortest range, where the sites lie together

struct Spread {
  double least = std::numeric_limits<double>::infinity();
  double largest = -std::numeric_limits<double>::infinity();
  void include(double value) {
    least = std::min(least, value);
    largest = std::max(largest, value);
  }
  double width() const { return largest > least ? largest - least : 0; }
};

std::vector<Site> sites_of(const Problem& problem) {
  std::vector<Site> sites;
  for (const SurfaceObservation& observation : problem.observations())
    sites.insert(sites.end(), observation.sites.begin(), observation.sites.end());
  return sites;
}

/// Least distance above a millimetre between two sites; sorted from west to east, only few pairs
/// are looked at.
double least_distance_m(std::vector<Site> sites) {
  constexpr double same_place_m = 1e-3;
  std::sort(sites.begin(), sites.end(),
            [](const Site& a, const Site& b) { return a.place.x < b.place.x; });
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < sites.size(); ++i) {
    for (std::size_t j = i + 1; j < sites.size(); ++j) {
      if (sites[j].place.x - sites[i].place.x >= least) break;
      const double distance = distance_m(sites[i].place, sites[j].place);
      if (distance > same_place_m) least = std::min(least, distance);
    }
  }
  return std::isfinite(least) ? least : 1;
}

double extent_m(const std::vector<Site>& sites, const CorrelationFactor& factor) {
  const double azimuth = factor.azimuth_deg * std::numbers::pi / 180;
  Extent ground;
  Spread across;
  Spread station;
  for (const Site& site : sites) {
    ground.include(site.place);
    across.include((site.place.x - sites[0].place.x) * std::cos(azimuth) -
                   (site.place.y - sites[0].place.y) * std::sin(azimuth));
    station.include(site.station_m);
  }
  if (factor.metric == Metric::plane) return std::hypot(ground.width(), ground.height());
  return factor.metric == Metric::across ? across.width() : station.width();
}

}  // namespace

Bounds variance_bounds(double variance) {
  return {std::log(smallest_variance * variance), std::log(largest_variance * variance),
          small_variance * variance};
}

std::vector<Bounds> bounds_of(const Problem& problem, const Numbers& numbers,
                              std::span<const Parameter> parameters, const FitOptions& options) {
  const std::vector<Site> sites = sites_of(problem);
  const double variance = problem.residual_variance();
  const double shortest_m =
      options.shortest_range_m > 0 ? options.shortest_range_m : least_distance_m(sites) / 4;
  std::vector<Bounds> bounds;
  for (const Parameter& parameter : parameters) {
    if (parameter.is_nugget || parameter.of.kind == CovarianceParameter::Kind::variance) {
      bounds.push_back(variance_bounds(variance));
    } else if (parameter.of.kind == CovarianceParameter::Kind::ratio) {
      bounds.push_back({std::log(smallest_ratio), 0});
    } else {
      const CovarianceTerm& term = numbers.covariance.terms[size(parameter.of.term)];
      const double longest_m = options.longest_range_m > 0
                                   ? options.longest_range_m
                                   : extent_m(sites, term.factors[size(parameter.of.factor)]);
      bounds.push_back(
          {std::log(shortest_m), std::log(std::max(longest_m, least_extent * shortest_m))});
    }
  }
  return bounds;
}

}  // namespace evendrip::likelihood
