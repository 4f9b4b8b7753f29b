// SPDX-License-Identifier: Apache-2.0
#include "plain_bootstraps.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

#include <boost/math/distributions/normal.hpp>

#include "evendrip/base/random.hpp"

#include "joined_draws.hpp"

namespace evendrip {
namespace {

using Measures = std::array<double, all_measures.size()>;

Measures measures_of(const Runners& emitters) {
  if (!(emitters.mean() > 0)) return {};
  std::array<double, shape_count> logs{};
  for (const Shape shape : {Shape::mean, Shape::variation, Shape::deviation, Shape::shortfall}) {
    logs[static_cast<std::size_t>(shape)] = emitters.log_value(shape, 0);
  }
  return measures_of_whole(0, logs);
}

MeasureDraws plain_draws(const std::vector<Runners::Emitter>& all, int draws, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {3});
  MeasureDraws result;
  std::vector<Runners::Emitter> drawn(all.size());
  Runners runners;
  for (int b = 0; b < draws; ++b) {
    for (Runners::Emitter& e : drawn) e = all[draw_below(stream, all.size())];
    runners.assign(drawn, 1);
    const Measures measures = measures_of(runners);
    for (std::size_t m = 0; m < measures.size(); ++m) result[m].push_back(measures[m]);
  }
  return result;
}

/// Measures with each emitter left out in turn.
std::vector<Measures> left_out(const std::vector<Runners::Emitter>& all) {
  std::vector<Measures> result;
  Runners runners;
  for (std::size_t i = 0; i < all.size(); ++i) {
    std::vector<Runners::Emitter> rest = all;
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(i));
    runners.assign(rest, 1);
    result.push_back(measures_of(runners));
  }
  return result;
}

double acceleration(const std::vector<Measures>& jackknife, std::size_t measure) {
  double mean = 0;
  for (const Measures& m : jackknife) mean += m[measure] / static_cast<double>(jackknife.size());
  double cubes = 0;
  double squares = 0;
  for (const Measures& m : jackknife) {
    const double d = mean - m[measure];
    squares += d * d;
    cubes += d * d * d;
  }
  return squares > 0 ? cubes / (6 * std::pow(squares, 1.5)) : 0;
}

/// Share of the draws below the estimate, those equal to it by half, kept off 0 and 1.
double share_below(const std::vector<double>& draws, double estimate) {
  double below = 0;
  for (const double d : draws) below += d < estimate ? 1.0 : d == estimate ? 0.5 : 0.0;
  const auto n = static_cast<double>(draws.size());
  return std::clamp(below / n, 0.5 / n, 1 - 0.5 / n);
}

double bca_level(double z0, double a, double z) {
  const double sum = z0 + z;
  const double denominator = std::max(1e-6, 1 - a * sum);
  return cdf(boost::math::normal(), z0 + sum / denominator);
}

}  // namespace

std::array<PlainLimits, all_measures.size()> plain_limits(std::span<const LevelledEmitter> emitters,
                                                          double confidence, int draws,
                                                          std::uint64_t seed) {
  std::vector<Runners::Emitter> all;
  for (const LevelledEmitter& e : emitters) all.push_back({e.discharge, e.weight, 0});
  Runners sample;
  sample.assign(all, 1);
  const Measures estimates = measures_of(sample);
  const std::vector<Measures> jackknife = left_out(all);
  MeasureDraws drawn = plain_draws(all, draws, seed);
  const boost::math::normal normal;
  const double tail = 0.5 * (1 - confidence);
  const double z = quantile(complement(normal, tail));
  std::array<PlainLimits, all_measures.size()> result;
  for (std::size_t m = 0; m < result.size(); ++m) {
    const double z0 = quantile(normal, share_below(drawn[m], estimates[m]));
    const double a = acceleration(jackknife, m);
    result[m].percentile = {
        LimitMethod::percentile,        true, true, estimates[m], quantile_of(drawn[m], tail),
        quantile_of(drawn[m], 1 - tail)};
    result[m].bca = {LimitMethod::bca,
                     true,
                     true,
                     estimates[m],
                     quantile_of(drawn[m], bca_level(z0, a, -z)),
                     quantile_of(drawn[m], bca_level(z0, a, z))};
  }
  return result;
}

}  // namespace evendrip
