// SPDX-License-Identifier: Apache-2.0
#include "likelihood_search.hpp"

#include "evendrip/base/random.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <numeric>
#include <random>

namespace evendrip::likelihood {
namespace {

constexpr int most_looked_at_with = 100;  ///< observations
constexpr int looks_for_each_start = 4;
constexpr std::size_t climbers = 3;
constexpr double largest_variance = 1e3;  ///< times that of the values about the trend
constexpr double smallest_variance = 1e-7;
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

/// Uniform in [0, 1), the same on every machine.
double draw(std::mt19937_64& stream) {
  return static_cast<double>(stream() >> 11U) * 0x1.0p-53;
}

Numbers drawn_start(const Numbers& form, std::span<const Parameter> parameters,
                    std::span<const Bounds> bounds, double variance, std::mt19937_64 stream) {
  Numbers numbers = form;
  for (std::size_t k = 0; k < parameters.size(); ++k) {
    const bool is_variance =
        parameters[k].is_nugget || parameters[k].of.kind == CovarianceParameter::Kind::variance;
    const double u = draw(stream);
    const double value = is_variance ? variance * std::max(u * u, 1e-3)
                                     : std::exp(std::lerp(bounds[k].lower, bounds[k].upper, u));
    set_value(numbers, parameters[k], value);
  }
  return numbers;
}

/// A seeded choice of observations; all when they are few.
SurfaceObservations some_of(const SurfaceObservations& observations, std::size_t trend_terms,
                            std::uint64_t seed) {
  const std::size_t most = std::max(size(most_looked_at_with), 4 * trend_terms);
  if (observations.size() <= most) return observations;
  std::vector<std::size_t> order(observations.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::mt19937_64 stream = item_stream(seed, {0});
  for (std::size_t i = 0; i < most; ++i) {
    const auto rest = static_cast<double>(order.size() - i);
    std::swap(order[i], order[i + static_cast<std::size_t>(draw(stream) * rest)]);
  }
  order.resize(most);
  std::sort(order.begin(), order.end());
  SurfaceObservations some;
  for (const std::size_t i : order) some.push_back(observations[i]);
  return some;
}

struct Look {
  Numbers numbers;
  double log_likelihood = -std::numeric_limits<double>::infinity();
};

void sort_best_first(std::vector<Look>& looks) {
  std::stable_sort(looks.begin(), looks.end(), [](const Look& a, const Look& b) {
    return a.log_likelihood > b.log_likelihood;
  });
}

/// Runs `body` for each look on its own thread; each writes only its own.
template <typename Body>
void for_each_look(std::vector<Look>& looks, const Work& work, const Body& body) {
  Work alone = without_progress(work);
  alone.threads = 1;
  for_each_chunk(without_progress(work), looks.size(), 1,
                 [&](std::size_t i, std::size_t, int) { body(looks[i], alone); });
}

}  // namespace

std::vector<Bounds> bounds_of(const Problem& problem, const Numbers& numbers,
                              std::span<const Parameter> parameters, const FitOptions& options) {
  const std::vector<Site> sites = sites_of(problem);
  const double variance = problem.residual_variance();
  const double shortest_m =
      options.shortest_range_m > 0 ? options.shortest_range_m : least_distance_m(sites) / 4;
  std::vector<Bounds> bounds;
  for (const Parameter& parameter : parameters) {
    if (parameter.is_nugget || parameter.of.kind == CovarianceParameter::Kind::variance) {
      bounds.push_back(
          {std::log(smallest_variance * variance), std::log(largest_variance * variance)});
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

std::optional<Numbers> scaled_start(const Problem& problem, Numbers given,
                                    std::span<const Parameter> parameters,
                                    std::span<const Bounds> bounds, const Work& work) {
  const auto clamp = [&](double factor) {
    for (std::size_t k = 0; k < parameters.size(); ++k) {
      const bool is_variance =
          parameters[k].is_nugget || parameters[k].of.kind == CovarianceParameter::Kind::variance;
      const double log_value =
          std::log(value_of(given, parameters[k])) + (is_variance ? std::log(factor) : 0);
      set_value(given, parameters[k],
                std::exp(std::clamp(log_value, bounds[k].lower, bounds[k].upper)));
    }
  };
  clamp(1);
  const auto evaluation = problem.evaluate(given, {}, Want::value, work);
  if (!evaluation) return {};
  // Exact without noise that is known; with it a better start all the same.
  const double factor = evaluation->quadratic / (problem.count() - problem.trend_terms());
  if (factor > 0) clamp(std::max(factor, 1e-3));
  return given;
}

std::optional<Optimum> best_of_starts(const Problem& problem, const SurfaceTrend& trend,
                                      double known_mean, const Numbers& form,
                                      std::span<const Parameter> parameters,
                                      std::span<const Bounds> bounds, const FitOptions& options,
                                      const Work& work) {
  const Problem chosen(some_of(problem.observations(), trend.size(), options.seed), trend,
                       known_mean);
  const Problem& small = chosen.dependent() ? problem : chosen;
  std::vector<Look> looks(size(std::max(options.starts, 1) * looks_for_each_start));
  const double variance = problem.residual_variance();
  for (std::size_t i = 0; i < looks.size(); ++i) {
    looks[i].numbers =
        i == 0 ? form
               : drawn_start(form, parameters, bounds, variance, item_stream(options.seed, {1, i}));
  }
  for_each_look(looks, work, [&](Look& look, const Work& alone) {
    const auto start = scaled_start(small, look.numbers, parameters, bounds, alone);
    if (!start) return;
    look.numbers = *start;
    if (const auto evaluation = small.evaluate(*start, {}, Want::value, alone))
      look.log_likelihood = evaluation->log_likelihood;
  });
  sort_best_first(looks);
  looks.resize(std::min({looks.size(), climbers, size(std::max(options.starts, 1))}));
  for_each_look(looks, work, [&](Look& look, const Work& alone) {
    const auto optimum = maximise(small, look.numbers, parameters, bounds, alone);
    if (optimum) look.numbers = optimum->numbers;
    const auto whole = problem.evaluate(look.numbers, {}, Want::value, alone);
    look.log_likelihood = whole ? whole->log_likelihood : -std::numeric_limits<double>::infinity();
  });
  sort_best_first(looks);
  if (!std::isfinite(looks[0].log_likelihood)) return {};
  return maximise(problem, looks[0].numbers, parameters, bounds, without_progress(work));
}

}  // namespace evendrip::likelihood
