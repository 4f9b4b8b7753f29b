// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/random_field.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

/// Two laterals of two zones, and one place without a lateral; pairs from 0.5 m to 150 m apart.
std::vector<Site> few_sites() {
  const auto site = [](double x, double y, int lateral, double station_m, int zone) {
    return Site{{500000 + x, 4100000 + y}, lateral, station_m, zone};
  };
  return {site(0, 0, 0, 0, 0),    site(0, 0.5, 0, 0.5, 0), site(0, 6, 0, 6, 0),
          site(0, 25, 0, 25, 0),  site(3, 25, 1, 25, 0),   site(3, 80, 1, 80, 0),
          site(60, 80, 2, 80, 1), site(62, 10, 2, 10, 1),  site(90, 120, -1, 0, -1)};
}

CorrelationFactor factor(Metric metric, VariogramShape shape, double range_m) {
  CorrelationFactor made;
  made.metric = metric;
  made.shape = shape;
  made.range_m = range_m;
  return made;
}

CovarianceModel model_of(double variance, std::vector<CorrelationFactor> factors) {
  return {{{"term", variance, std::move(factors)}}};
}

/// Largest difference between the covariances of many draws and those of the model, in standard
/// errors of the former (of the product of two normal numbers: root of (vv + c^2) / draws), and
/// of the means.
double worst_difference(const CovarianceModel& model, int waves, int draws) {
  const std::vector<Site> sites = few_sites();
  const std::size_t n = sites.size();
  std::vector<double> sums(n);
  std::vector<double> products(n * n);
  for (int d = 0; d < draws; ++d) {
    const std::vector<double> z = RandomField(model, waves, 11, d).at(sites);
    for (std::size_t i = 0; i < n; ++i) {
      sums[i] += z[i] / draws;
      for (std::size_t j = 0; j < n; ++j) products[i * n + j] += z[i] * z[j] / draws;
    }
  }
  double worst = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const double variance = variance_at(model, sites[i]);
    if (variance == 0) {
      EXPECT_EQ(sums[i], 0) << i;
      continue;
    }
    worst = std::max(worst, std::abs(sums[i]) / std::sqrt(variance / draws));
    for (std::size_t j = 0; j <= i; ++j) {
      const double c = covariance(model, sites[i], sites[j]);
      const double error = std::sqrt((variance * variance_at(model, sites[j]) + c * c) / draws);
      if (error == 0) continue;
      worst = std::max(worst, std::abs(products[i * n + j] - c) / error);
    }
  }
  return worst;
}

// Some 50 figures in each case: 4.5 standard errors are passed by chance once in 3,000 cases.
constexpr double limit = 4.5;

TEST(RandomField, HasTheCovarianceOfEveryShapeInThePlane) {
  for (const VariogramShape shape :
       {VariogramShape::exponential, VariogramShape::spherical, VariogramShape::gaussian,
        VariogramShape::matern32, VariogramShape::matern52}) {
    EXPECT_LT(worst_difference(model_of(2, {factor(Metric::plane, shape, 30)}), 32, 2000), limit)
        << to_text(shape);
  }
}

TEST(RandomField, HasTheCovarianceOfEveryShapeAlongALine) {
  for (const VariogramShape shape :
       {VariogramShape::exponential, VariogramShape::spherical, VariogramShape::gaussian,
        VariogramShape::matern32, VariogramShape::matern52}) {
    for (const Metric metric : {Metric::station, Metric::along_lateral, Metric::across}) {
      EXPECT_LT(worst_difference(model_of(0.5, {factor(metric, shape, 20)}), 32, 1000), limit)
          << to_text(shape) << static_cast<int>(metric);
    }
  }
}

TEST(RandomField, TurnsAndStretchesWithTheAnisotropy) {
  for (const double azimuth_deg : {0.0, 35.0, 110.0}) {
    CorrelationFactor stretched = factor(Metric::plane, VariogramShape::exponential, 60);
    stretched.azimuth_deg = azimuth_deg;
    stretched.ratio = 0.1;
    EXPECT_LT(worst_difference(model_of(1, {stretched}), 32, 1500), limit) << azimuth_deg;
    CorrelationFactor across = factor(Metric::across, VariogramShape::matern32, 10);
    across.azimuth_deg = azimuth_deg;
    EXPECT_LT(worst_difference(model_of(1, {across}), 32, 1500), limit) << azimuth_deg;
  }
}

TEST(RandomField, HasTheCovarianceOfProductsAndSums) {
  CovarianceModel model;
  model.terms.push_back(
      {"zones", 0.3, {factor(Metric::same_zone, VariogramShape::exponential, 1)}});
  model.terms.push_back({"laterals",
                         0.5,
                         {factor(Metric::same_lateral, VariogramShape::exponential, 1),
                          factor(Metric::station, VariogramShape::matern52, 40)}});
  model.terms.push_back({"local",
                         1,
                         {factor(Metric::plane, VariogramShape::spherical, 50),
                          factor(Metric::station, VariogramShape::exponential, 90),
                          factor(Metric::same_zone, VariogramShape::exponential, 1)}});
  model.terms.push_back({"all", 0.2, {}});
  EXPECT_LT(worst_difference(model, 32, 3000), limit);
}

TEST(RandomField, NotTheSameCovarianceIsNotFoundTheSame) {
  const CovarianceModel drawn =
      model_of(1, {factor(Metric::plane, VariogramShape::exponential, 30)});
  const CovarianceModel other = model_of(1, {factor(Metric::plane, VariogramShape::spherical, 30)});
  const std::vector<Site> sites = few_sites();
  double product = 0;
  constexpr int draws = 2000;
  for (int d = 0; d < draws; ++d) {
    const std::vector<double> z = RandomField(drawn, 32, 11, d).at(sites);
    product += z[0] * z[3] / draws;
  }
  EXPECT_NEAR(product, covariance(drawn, sites[0], sites[3]), 4.5 / std::sqrt(draws));
  EXPECT_GT(std::abs(product - covariance(other, sites[0], sites[3])), 4.5 / std::sqrt(draws));
}

TEST(RandomField, IsNormalWithAFewWaves) {
  const CovarianceModel model =
      model_of(1, {factor(Metric::plane, VariogramShape::exponential, 30)});
  const std::vector<Site> site = {few_sites()[3]};
  double fourth = 0;
  constexpr int draws = 20000;
  for (int d = 0; d < draws; ++d)
    fourth += std::pow(RandomField(model, 2, 5, d).at(site)[0], 4) / draws;
  // The fourth power of a normal number has mean 3 and variance 96; two cosines of one size, 2.25.
  EXPECT_NEAR(fourth, 3, 4.5 * std::sqrt(96.0 / draws));
}

TEST(RandomField, WindowsOfOneDrawFitTogether) {
  CovarianceModel model = model_of(1, {factor(Metric::plane, VariogramShape::matern32, 30)});
  model.terms.push_back(
      {"laterals", 1, {factor(Metric::along_lateral, VariogramShape::exponential, 9)}});
  std::vector<Site> sites;
  for (int i = 0; i < 700; ++i) sites.push_back({{0.5 * i, 3.0 * (i % 7)}, i % 7, 0.3 * i, 0});
  const RandomField field(model, 64, 3, 8);
  const std::vector<double> whole = field.at(sites);
  const std::span<const Site> all(sites);
  std::vector<double> parts = field.at(all.first(123));
  for (const double value : field.at(all.subspan(123))) parts.push_back(value);
  EXPECT_EQ(parts, whole);
}

TEST(RandomField, IsTheSameForTheSameSeedAndDrawAlone) {
  const CovarianceModel model = model_of(1, {factor(Metric::plane, VariogramShape::spherical, 30)});
  const std::vector<Site> sites = few_sites();
  const std::vector<double> once = RandomField(model, 16, 3, 8).at(sites);
  EXPECT_EQ(RandomField(model, 16, 3, 8).at(sites), once);
  EXPECT_NE(RandomField(model, 16, 3, 9).at(sites), once);
  EXPECT_NE(RandomField(model, 16, 4, 8).at(sites), once);
}

TEST(RandomField, RefusesWhatHasNoCorrelation) {
  const auto make = [](const CovarianceModel& model, int waves) {
    return RandomField(model, waves, 1, 0);
  };
  EXPECT_THROW(make(model_of(1, {factor(Metric::plane, VariogramShape::linear, 30)}), 8),
               std::invalid_argument);
  EXPECT_THROW(make(model_of(1, {factor(Metric::plane, VariogramShape::nugget, 30)}), 8),
               std::invalid_argument);
  EXPECT_THROW(make(model_of(1, {factor(Metric::station, VariogramShape::exponential, 0)}), 8),
               std::invalid_argument);
  EXPECT_THROW(make(model_of(0, {}), 8), std::invalid_argument);
  EXPECT_THROW(make(model_of(1, {}), 0), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
