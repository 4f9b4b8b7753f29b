// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/observation.hpp"

#include "surface_sites.hpp"

#include <gtest/gtest.h>

#include <random>
#include <stdexcept>

namespace evendrip {
namespace {

/// Segments of one, two or forty sites; drawn weights.
SurfaceObservations segments(const std::vector<Site>& sites) {
  std::mt19937_64 random(8);
  std::uniform_real_distribution<double> weight(-0.5, 1);
  SurfaceObservations observations;
  std::size_t next = 0;
  for (const std::size_t count : {1U, 2U, 40U, 1U, 5U, 90U}) {
    SurfaceObservation observation;
    for (std::size_t k = 0; k < count; ++k, ++next) {
      observation.sites.push_back(sites[next % sites.size()]);
      observation.weights.push_back(weight(random));
    }
    observations.push_back(observation);
  }
  return observations;
}

double by_definition(const CovarianceModel& model, const SurfaceObservation& a,
                     const SurfaceObservation& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.sites.size(); ++i)
    for (std::size_t j = 0; j < b.sites.size(); ++j)
      sum += a.weights[i] * b.weights[j] * covariance(model, a.sites[i], b.sites[j]);
  return sum;
}

TEST(ObservationsOf, AreTheSamplesThemselves) {
  const auto sites = sites_on_laterals(2);
  const auto observations = observations_of({{sites[0], 1.5, 0.2}, {sites[1], 2.5, 0.3}});
  ASSERT_EQ(observations.size(), 2U);
  EXPECT_EQ(observations[1].sites, std::vector<Site>{sites[1]});
  EXPECT_EQ(observations[1].weights, std::vector<double>{1});
  EXPECT_EQ(observations[1].value, 2.5);
  EXPECT_EQ(observations[1].noise_variance, 0.3);
}

TEST(Observations, HaveTheCovarianceOfTheirSums) {
  const CovarianceModel model = every_metric();
  const auto observations = segments(sites_on_laterals(60));
  const std::size_t n = observations.size();
  Matrix matrix(n, n);
  fill(model, observations, observations, matrix.view());
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      EXPECT_NEAR(matrix(static_cast<int>(i), static_cast<int>(j)),
                  by_definition(model, observations[i], observations[j]), 1e-10);
    }
  }
}

TEST(Observations, HaveTheCovarianceOfTheirSumsWithSites) {
  const CovarianceModel model = every_metric();
  const auto sites = sites_on_laterals(150, 9);
  const auto observations = segments(sites_on_laterals(60));
  Matrix matrix(observations.size(), sites.size());
  fill(model, observations, sites, matrix.view());
  for (std::size_t i = 0; i < observations.size(); ++i) {
    for (std::size_t j = 0; j < sites.size(); ++j) {
      const SurfaceObservation at{{sites[j]}, {1}, 0, 0};
      EXPECT_NEAR(matrix(static_cast<int>(i), static_cast<int>(j)),
                  by_definition(model, observations[i], at), 1e-11);
    }
  }
}

TEST(Observations, OfPointsAreThePointsBitByBit) {
  const CovarianceModel model = every_metric();
  const auto sites = sites_on_laterals(20);
  SurfaceObservations observations;
  for (const Site& site : sites) observations.push_back({{site}, {1}, 0, 0});
  Matrix matrix(sites.size(), sites.size());
  fill(model, observations, observations, matrix.view());
  EXPECT_EQ(matrix.elements, covariances_of(model, sites, sites).elements);
}

TEST(Observations, SplitInPartsAreTheSameSum) {
  const CovarianceModel model = every_metric();
  const auto sites = sites_on_laterals(12);
  const SurfaceObservation whole{{sites[0], sites[1]}, {0.5, 0.5}, 0, 0};
  const SurfaceObservation split{{sites[0], sites[0], sites[1]}, {0.2, 0.3, 0.5}, 0, 0};
  const SurfaceObservations two{whole, split};
  Matrix matrix(2, 2);
  fill(model, two, two, matrix.view());
  EXPECT_NEAR(matrix(0, 0), matrix(1, 1), 1e-14);
  EXPECT_NEAR(matrix(0, 0), matrix(0, 1), 1e-14);
}

TEST(ObservationGradient, AgreesWithFiniteDifferences) {
  const CovarianceModel model = every_metric();
  const auto observations = segments(sites_on_laterals(60));
  const std::size_t n = observations.size();
  constexpr double step = 1e-5;
  for (const CovarianceParameter& parameter : parameters_of(model)) {
    const double value = value_of(model, parameter);
    Matrix above(n, n), below(n, n), gradient(n, n);
    CovarianceModel near = model;
    set_value(near, parameter, value * std::exp(step));
    fill(near, observations, observations, above.view());
    set_value(near, parameter, value * std::exp(-step));
    fill(near, observations, observations, below.view());
    fill_gradient(model, parameter, observations, observations, gradient.view());
    for (std::size_t k = 0; k < n * n; ++k) {
      const double numeric = (above.elements[k] - below.elements[k]) / (2 * step);
      EXPECT_NEAR(gradient.elements[k], numeric, 1e-6) << to_text(model, parameter);
    }
  }
}

TEST(Observations, NeedAWeightForEachSite) {
  const SurfaceObservations odd{{sites_on_laterals(2), {1}, 0, 0}};
  Matrix matrix(1, 1);
  EXPECT_THROW(fill(every_metric(), odd, odd, matrix.view()), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
