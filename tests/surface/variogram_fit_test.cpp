// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/variogram.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace evendrip {
namespace {

std::vector<VariogramLag> lags_of(const VariogramModel& model) {
  std::vector<VariogramLag> lags;
  for (int i = 1; i <= 15; ++i) {
    const double h = 6.0 * i;
    lags.push_back({static_cast<std::size_t>(40 + 3 * i), h, semivariance(model, h)});
  }
  return lags;
}

TEST(VariogramFit, RecoversTheModelThatMadeTheLags) {
  for (const VariogramShape shape :
       {VariogramShape::exponential, VariogramShape::spherical, VariogramShape::gaussian,
        VariogramShape::matern32, VariogramShape::matern52}) {
    const VariogramModel truth{shape, 0.3, 1.7, 35, 0, 1};
    const VariogramFit fit = fit_variogram(lags_of(truth), shape);
    EXPECT_TRUE(fit.converged);
    EXPECT_NEAR(fit.model.nugget, 0.3, 1e-5) << to_text(shape);
    EXPECT_NEAR(fit.model.partial_sill, 1.7, 1e-5) << to_text(shape);
    EXPECT_NEAR(fit.model.range_m, 35, 1e-3) << to_text(shape);
  }
}

TEST(VariogramFit, RecoversTheSlopeOfALine) {
  const VariogramFit fit =
      fit_variogram(lags_of({VariogramShape::linear, 0.3, 0.02, 1, 0, 1}), VariogramShape::linear);
  EXPECT_NEAR(fit.model.nugget, 0.3, 1e-12);
  EXPECT_NEAR(fit.model.partial_sill, 0.02, 1e-12);
}

TEST(VariogramFit, KeepsTheNuggetAtZeroOrAbove) {
  std::vector<VariogramLag> lags = lags_of({VariogramShape::exponential, 0, 2, 20, 0, 1});
  lags[0].semivariance *= 0.5;  // would ask for a negative nugget
  const VariogramFit fit = fit_variogram(lags, VariogramShape::exponential);
  EXPECT_EQ(fit.model.nugget, 0);
  EXPECT_GT(fit.model.partial_sill, 0);
}

TEST(VariogramFit, FindsTheShapeThatFitsBest) {
  const auto lags = lags_of({VariogramShape::spherical, 0.1, 1, 40, 0, 1});
  const VariogramShape shapes[] = {VariogramShape::exponential, VariogramShape::spherical,
                                   VariogramShape::matern32};
  const auto fit = fit_best_variogram(lags, shapes);
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->model.shape, VariogramShape::spherical);
}

TEST(VariogramFit, FindsNoStructureInAFlatOrFallingVariogram) {
  const VariogramShape shapes[] = {VariogramShape::exponential, VariogramShape::spherical};
  std::vector<VariogramLag> lags = lags_of({VariogramShape::nugget, 1, 0, 1, 0, 1});
  EXPECT_FALSE(fit_best_variogram(lags, shapes));
  for (std::size_t i = 0; i < lags.size(); ++i)
    lags[i].semivariance = 1 - 0.02 * static_cast<double>(i);
  EXPECT_FALSE(fit_best_variogram(lags, shapes));
}

TEST(VariogramFit, FindsNoStructureWithFewerThanThreeLagsOrWithoutVariance) {
  const VariogramShape shapes[] = {VariogramShape::exponential};
  std::vector<VariogramLag> lags = lags_of({VariogramShape::exponential, 0, 1, 30, 0, 1});
  lags.resize(2);
  EXPECT_FALSE(fit_best_variogram(lags, shapes));
  EXPECT_FALSE(fit_best_variogram({}, shapes));
  EXPECT_FALSE(fit_best_variogram(lags_of({VariogramShape::nugget, 0, 0, 1, 0, 1}), shapes));
}

// A variogram that keeps rising, as a trend makes it.
TEST(BestFit, KeepsTheRangeWithinTheLagsSeen) {
  std::vector<VariogramLag> lags;
  for (int i = 1; i <= 12; ++i) lags.push_back({50, 5.0 * i, 0.01 + 0.0001 * i * i});
  const std::vector<VariogramShape> shapes = {VariogramShape::exponential,
                                              VariogramShape::matern52};
  const auto fit = fit_best_variogram(lags, shapes);
  ASSERT_TRUE(fit);
  EXPECT_LE(fit->model.range_m, 60.0 * (1 + 1e-9));
}

}  // namespace
}  // namespace evendrip
