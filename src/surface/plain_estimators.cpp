// SPDX-License-Identifier: Apache-2.0
// Estimators that know no model of the lateral, as they stand in the comparison. None looks across
// the limits of a zone.
#include "evendrip/surface/comparison.hpp"
#include "evendrip/surface/estimators.hpp"
#include "evendrip/surface/triangulation.hpp"
#include "evendrip/surface/variogram.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr Prediction unknown{nan, nan};

struct ZonePart {
  Samples known;
  std::vector<Site> sites;
  std::vector<std::size_t> numbers;  ///< of the sites
};

/// Each zone on its own; sites of zones without samples stay unknown.
template <typename Predict>
std::vector<Prediction> zone_by_zone(const Samples& known, std::span<const Site> sites,
                                     const Predict& predict) {
  std::map<int, ZonePart> zones;
  for (const Sample& sample : known) zones[sample.site.zone].known.push_back(sample);
  std::vector<Prediction> out(sites.size(), unknown);
  for (std::size_t i = 0; i < sites.size(); ++i) {
    const auto zone = zones.find(sites[i].zone);
    if (zone == zones.end()) continue;
    zone->second.sites.push_back(sites[i]);
    zone->second.numbers.push_back(i);
  }
  for (const auto& [number, zone] : zones) {
    if (zone.sites.empty()) continue;
    const std::vector<Prediction> part = predict(zone.known, zone.sites);
    for (std::size_t k = 0; k < zone.numbers.size(); ++k) out[zone.numbers[k]] = part[k];
  }
  return out;
}

std::vector<Point> places_of(std::span<const Site> sites) {
  std::vector<Point> places;
  places.reserve(sites.size());
  for (const Site& site : sites) places.push_back(site.place);
  return places;
}

std::vector<Prediction> without_errors(const std::vector<double>& values) {
  std::vector<Prediction> out;
  out.reserve(values.size());
  for (const double value : values)
    out.push_back(std::isfinite(value) ? Prediction{value, 0} : unknown);
  return out;
}

double mean_noise(const Samples& samples) {
  double sum = 0;
  for (const Sample& sample : samples) sum += sample.noise_variance;
  return sum / static_cast<double>(samples.size());
}

/// What spreads besides the known noise, which the observed value brings along itself. Never 0,
/// which would stand for "says no error".
double less_noise(double variance, double noise_variance) {
  return std::max(variance - noise_variance, 1e-9 * variance);
}

/// Mean and spread of one group of samples.
struct Spread {
  int count = 0;
  double mean = 0;
  double squares = 0;  ///< of the deviations from the mean

  void add(double value) {
    ++count;
    const double change = value - mean;
    mean += change / count;
    squares += change * (value - mean);
  }
};

/// A new emitter about a mean of `count`, where `variance` is that of one sample.
Prediction about_mean(double mean, int count, double variance, double noise_variance) {
  return {mean, less_noise(variance, noise_variance) + variance / count};
}

Spread spread_of(const Samples& samples) {
  Spread spread;
  for (const Sample& sample : samples) spread.add(sample.value);
  return spread;
}

Prediction zone_mean(const Samples& known) {
  const Spread spread = spread_of(known);
  const double variance = spread.count > 1 ? spread.squares / (spread.count - 1) : 0;
  return about_mean(spread.mean, spread.count, variance, mean_noise(known));
}

std::vector<Prediction> lateral_means(const Samples& known, std::span<const Site> sites) {
  std::map<int, Spread> laterals;
  for (const Sample& sample : known)
    if (sample.site.lateral >= 0) laterals[sample.site.lateral].add(sample.value);
  double squares = 0;
  int freedom = 0;
  for (const auto& [number, spread] : laterals) {
    squares += spread.squares;
    freedom += spread.count - 1;
  }
  const Prediction zone = zone_mean(known);
  const double noise = mean_noise(known);
  std::vector<Prediction> out;
  for (const Site& site : sites) {
    const auto found = laterals.find(site.lateral);
    if (found == laterals.end()) {
      out.push_back(zone);
      continue;
    }
    const Spread& spread = found->second;
    out.push_back(freedom > 0 ? about_mean(spread.mean, spread.count, squares / freedom, noise)
                              : Prediction{spread.mean, zone.variance});
  }
  return out;
}

std::vector<Prediction> kriged(const Samples& known, std::span<const Site> sites,
                               const VariogramModel& model, int most) {
  Neighbourhood neighbourhood;
  neighbourhood.most = most;
  const OrdinaryKriging kriging(known, model, neighbourhood);
  std::vector<Prediction> out = kriging.at(places_of(sites), {});
  const double noise = mean_noise(known);
  for (Prediction& p : out)
    p.variance = p.variance > 0 ? less_noise(p.variance, noise) : p.variance;
  return out;
}

}  // namespace

Estimator zone_mean_estimator() {
  return {"zone mean", [](const Samples& known, std::span<const Site> sites) {
            return zone_by_zone(known, sites,
                                [](const Samples& zone, std::span<const Site> wanted) {
                                  return std::vector<Prediction>(wanted.size(), zone_mean(zone));
                                });
          }};
}

Estimator lateral_mean_estimator() {
  return {"lateral mean", [](const Samples& known, std::span<const Site> sites) {
            return zone_by_zone(known, sites, lateral_means);
          }};
}

Estimator inverse_distance_estimator(double power, int most) {
  InverseDistance options;
  options.power = power;
  options.neighbourhood.most = most;
  const std::string name = most > 0
                               ? fmt::format("inverse distance, power {}, {} nearest", power, most)
                               : fmt::format("inverse distance, power {}, all", power);
  return {name, [options](const Samples& known, std::span<const Site> sites) {
            return zone_by_zone(
                known, sites, [&](const Samples& zone, std::span<const Site> wanted) {
                  return without_errors(inverse_distance_at(zone, options, places_of(wanted), {}));
                });
          }};
}

Estimator natural_neighbour_estimator() {
  return {
      "natural neighbours", [](const Samples& known, std::span<const Site> sites) {
        return zone_by_zone(known, sites, [](const Samples& zone, std::span<const Site> wanted) {
          return without_errors(Triangulation(zone).natural_neighbour_at(places_of(wanted), {}));
        });
      }};
}

Estimator triangulation_estimator() {
  return {"triangulation", [](const Samples& known, std::span<const Site> sites) {
            return zone_by_zone(
                known, sites, [](const Samples& zone, std::span<const Site> wanted) {
                  return without_errors(Triangulation(zone).linear_at(places_of(wanted), {}));
                });
          }};
}

Estimator ordinary_kriging_estimator(int most) {
  return {"ordinary kriging", [most](const Samples& known, std::span<const Site> sites) {
            const auto fit = fit_best_variogram(moment_variogram(known), usual_shapes);
            return zone_by_zone(
                known, sites, [&](const Samples& zone, std::span<const Site> wanted) {
                  return fit ? kriged(zone, wanted, fit->model, most)
                             : std::vector<Prediction>(wanted.size(), zone_mean(zone));
                });
          }};
}

}  // namespace evendrip
