// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/fitted_posterior.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "drawn_zone.hpp"

namespace evendrip {
namespace {

/// 24 holes on a zone without crop, whose laterals give less towards their far ends.
test::DrawnZone dug_zone() {
  test::DrawnZone zone = test::bare_zone();
  std::mt19937_64 stream(7);
  std::normal_distribution<double> emitter(1, 0.05);
  for (int row = 0; row < 24; row += 4)
    for (const int station : {1, 4, 7, 10})
      zone.holes.push_back({row, station, emitter(stream) - 0.02 * station, 0.02 * 0.02});
  return zone;
}

// The reference is the integral itself, by importance sampling from a wide t distribution.
TEST(FittedPosterior, IsIntegratedOverItsLogarithms) {
  const test::DrawnZone zone = dug_zone();
  const ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
  const auto fit = fit_condition(model, {}, {}, FitSearch::several_starts, {});
  ASSERT_TRUE(fit);
  const FittedPosterior posterior(model, fit->parameters, {}, PosteriorOf::logarithms);
  const FittedVector top = fitted_of(fit->parameters);
  const auto found = log_integral(posterior, top);
  ASSERT_TRUE(found);

  constexpr double degrees = 4;
  constexpr double scale = 1.2;
  constexpr int draws = 5000;
  const auto n = static_cast<double>(fitted_count);
  const double log_norm = std::lgamma((degrees + n) / 2) - std::lgamma(degrees / 2) -
                          0.5 * n * std::log(degrees * std::numbers::pi) - n * std::log(scale);
  std::mt19937_64 stream(11);
  std::normal_distribution<double> normal;
  std::chi_squared_distribution<double> chi_squared(degrees);
  double sum = 0;
  const double about = *found;
  for (int draw = 0; draw < draws; ++draw) {
    const double stretch = scale * std::sqrt(degrees / chi_squared(stream));
    FittedVector x = top;
    double squares = 0;
    for (double& v : x) {
      const double off = stretch * normal(stream);
      v += off;
      squares += off * off;
    }
    const double log_density =
        log_norm - 0.5 * (degrees + n) * std::log1p(squares / (scale * scale * degrees));
    sum += std::exp(posterior.value_at(x) - about - log_density);
  }
  EXPECT_NEAR(std::log(sum / draws), 0, 1) << "beside " << about;
}

TEST(FittedPosterior, HasThePriorsOfWhichHalfLiesBelowTheMedian) {
  const test::DrawnZone zone = dug_zone();
  const ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
  const FittedPosterior posterior(model, {}, {}, PosteriorOf::logarithms);
  for (std::size_t which = 0; which + 1 < fitted_count; ++which) {
    const double median = std::log(prior_median(which));
    double below = 0;
    double above = 0;
    FittedVector x = fitted_of({});
    const double start = *model.log_likelihood(parameters_at(x, {})) - posterior.value_at(x);
    for (double off = 0.05; off < 10; off += 0.1) {
      for (const double at : {median - off, median + off}) {
        x[which] = at;
        const double prior =
            posterior.value_at(x) - *model.log_likelihood(parameters_at(x, {})) + start;
        (at < median ? below : above) += std::exp(prior);
      }
    }
    EXPECT_NEAR(below / (below + above), 0.5, 0.005) << which;
  }
}

}  // namespace
}  // namespace evendrip
