// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/model_variogram.hpp"

#include "drawn_fields.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

SurfaceModel two_parts() {
  const CorrelationFactor plane{Metric::plane, VariogramShape::spherical, 40, 60, 0.25};
  const CorrelationFactor along{Metric::along_lateral, VariogramShape::exponential, 20, 0, 1};
  return {{constant_term()}, 0, {{{"local", 0.5, {plane}}, {"laterals", 0.3, {along}}}}, 0.1};
}

TEST(ModelVariogram, AddsTheTermsAlongAndAcrossTheLaterals) {
  const std::vector<double> distances{0, 1e-9, 8, 25};
  const auto along = model_variogram(two_parts(), Direction::along, 60, distances);
  const auto across = model_variogram(two_parts(), Direction::across, 60, distances);
  EXPECT_EQ(along[0], 0);
  EXPECT_EQ(across[0], 0);
  EXPECT_NEAR(along[1], 0.1, 1e-9);
  EXPECT_NEAR(across[1], 0.1 + 0.3, 1e-9) << "no lateral is shared";
  const auto part = [](double range_m, VariogramShape shape, double distance_m) {
    return semivariance({shape, 0, 1, range_m, 0, 1}, distance_m);
  };
  for (const std::size_t i : {2U, 3U}) {
    const double h = distances[i];
    EXPECT_NEAR(along[i],
                0.1 + 0.5 * part(40, VariogramShape::spherical, h) +
                    0.3 * part(20, VariogramShape::exponential, h),
                1e-12);
    EXPECT_NEAR(across[i], 0.1 + 0.5 * part(10, VariogramShape::spherical, h) + 0.3, 1e-12);
  }
}

// Mean over draws from the model: the moment estimate has the model's semivariance as its mean.
TEST(ModelVariogram, IsTheMeanOfTheMomentVariogramsOfItsDraws) {
  SurfaceModel model = two_parts();
  for (CovarianceTerm& term : model.covariance.terms) term.factors[0].azimuth_deg = bearing_deg;
  auto sites = sites_on_laterals(170);
  std::erase_if(sites, [](const Site& site) { return site.lateral < 0; });
  for (Site& site : sites) site.zone = 0;
  FieldDraws draws(sites, model.covariance, model.nugget, 9);
  DirectionOptions options;
  options.azimuth_deg = bearing_deg;
  options.tolerance_deg = 1;
  options.moment = {30, 6, true};
  constexpr int count = 400;
  std::vector<double> along(6), squares(6);
  DirectionalVariogram lags;
  for (int draw = 0; draw < count; ++draw) {
    lags = directional_variogram(draws.next(), options);
    ASSERT_EQ(lags.along.size(), 6U);
    for (std::size_t k = 0; k < 6; ++k) {
      along[k] += lags.along[k].semivariance / count;
      squares[k] += lags.along[k].semivariance * lags.along[k].semivariance / count;
    }
  }
  for (std::size_t k = 0; k < 6; ++k) {
    const double expected = model_variogram(model, Direction::along, bearing_deg,
                                            std::vector{lags.along[k].mean_distance_m})[0];
    const double error = std::sqrt((squares[k] - along[k] * along[k]) / count);
    EXPECT_NEAR(along[k], expected, 4 * error + 0.01) << "lag " << k;
  }
}

TEST(LessTrend, TakesTheFittedTrendAway) {
  const auto sites = sites_on_laterals(40);
  Samples samples;
  for (const Site& site : sites) samples.push_back({site, 2 + 0.01 * (site.place.x - 500000), 0});
  SurfaceFit fit;
  fit.model.trend = plane_trend();
  fit.coefficients = {2, 0.01, 0};
  for (const Sample& sample : less_trend(samples, fit)) EXPECT_NEAR(sample.value, 0, 1e-12);
  fit.model.trend.clear();
  fit.coefficients.clear();
  fit.model.known_mean = 0.5;
  EXPECT_DOUBLE_EQ(less_trend(samples, fit)[0].value, samples[0].value - 0.5);
}

}  // namespace
}  // namespace evendrip
