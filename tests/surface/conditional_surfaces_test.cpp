// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>
#include <stdexcept>
#include <vector>

#include "evendrip/surface/random_field.hpp"

namespace evendrip {
namespace {

CorrelationFactor factor(Metric metric, VariogramShape shape, double range_m) {
  CorrelationFactor made;
  made.metric = metric;
  made.shape = shape;
  made.range_m = range_m;
  return made;
}

Site site_on(int lateral, double station_m) {
  return {{500000 + 1.5 * lateral, 4100000 + station_m}, lateral, station_m, 0};
}

TrendTerm station_line() {
  return function_term("station", [](const Site& site) { return site.station_m / 100; });
}

SurfaceModel line_model() {
  SurfaceModel model;
  model.trend = {constant_term(), station_line()};
  model.covariance.terms = {
      {"laterals", 0.02, {factor(Metric::along_lateral, VariogramShape::exponential, 60)}},
      {"local", 0.01, {factor(Metric::plane, VariogramShape::matern32, 15)}}};
  model.nugget = 0.003;
  return model;
}

/// Five laterals, four holes each, each with noise of its own.
SurfaceObservations some_holes() {
  SurfaceObservations observations;
  for (int i = 0; i < 20; ++i) {
    const Site site = site_on(5 * (i % 5), 10 + 25 * (i / 5) + 3 * (i % 3));
    observations.push_back({{site}, {1}, 1 - 0.1 * std::sin(1.7 * i), 0.001 + 0.0002 * (i % 4)});
  }
  return observations;
}

/// Mean and covariance of the surface given the observations, by inverting outright: universal
/// kriging (Cressie 1993, eq. 3.4.62 and those before it; from memory).
struct Given {
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
};
Given given(const SurfaceObservations& observations, const SurfaceModel& model,
            const std::vector<Site>& sites) {
  const auto n = static_cast<Eigen::Index>(observations.size());
  const auto m = static_cast<Eigen::Index>(sites.size());
  const auto p = static_cast<Eigen::Index>(model.trend.size());
  const auto trend_at = [&](const Site& site) {
    Eigen::VectorXd row(p);
    for (Eigen::Index j = 0; j < p; ++j) {
      double value = 0;
      model.trend[static_cast<std::size_t>(j)].fill({&site, 1}, {&value, 1});
      row(j) = value;
    }
    return row;
  };
  Eigen::MatrixXd v(n, n), c(n, m), s(m, m), x(n, p), f(m, p);
  Eigen::VectorXd y(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const SurfaceObservation& a = observations[static_cast<std::size_t>(i)];
    y(i) = a.value;
    x.row(i) = trend_at(a.sites[0]).transpose();
    for (Eigen::Index j = 0; j < n; ++j)
      v(i, j) = covariance(model.covariance, a.sites[0],
                           observations[static_cast<std::size_t>(j)].sites[0]);
    v(i, i) += model.nugget + a.noise_variance;
    for (Eigen::Index j = 0; j < m; ++j)
      c(i, j) = covariance(model.covariance, a.sites[0], sites[static_cast<std::size_t>(j)]);
  }
  for (Eigen::Index i = 0; i < m; ++i) {
    f.row(i) = trend_at(sites[static_cast<std::size_t>(i)]).transpose();
    for (Eigen::Index j = 0; j < m; ++j)
      s(i, j) = covariance(model.covariance, sites[static_cast<std::size_t>(i)],
                           sites[static_cast<std::size_t>(j)]);
  }
  const Eigen::MatrixXd inverse = v.inverse();
  if (p == 0) {
    const Eigen::VectorXd known = Eigen::VectorXd::Constant(n, model.known_mean);
    return {Eigen::VectorXd::Constant(m, model.known_mean) + c.transpose() * inverse * (y - known),
            s - c.transpose() * inverse * c};
  }
  const Eigen::MatrixXd information = (x.transpose() * inverse * x).inverse();
  const Eigen::VectorXd b = information * x.transpose() * inverse * y;
  const Eigen::MatrixXd left = f - c.transpose() * inverse * x;
  return {f * b + c.transpose() * inverse * (y - x * b),
          s - c.transpose() * inverse * c + left * information * left.transpose()};
}

std::vector<Site> some_sites() {
  return {site_on(0, 13),  site_on(0, 60),  site_on(2, 13),  site_on(7, 40),
          site_on(12, 90), site_on(20, 99), site_on(25, 50), site_on(40, 120)};
}

/// Means and covariances of many draws against those by inverting outright, in standard errors.
double worst_difference(const SurfaceObservations& observations, const SurfaceModel& model,
                        int draws) {
  const std::vector<Site> sites = some_sites();
  const Given exact = given(observations, model, sites);
  const auto m = static_cast<Eigen::Index>(sites.size());
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(m);
  Eigen::MatrixXd squares = Eigen::MatrixXd::Zero(m, m);
  const ConditionalSurfaces surfaces(observations, model, 17);
  for (const std::vector<double>& drawn : surfaces.draws(0, draws, sites)) {
    const Eigen::VectorXd z = Eigen::Map<const Eigen::VectorXd>(drawn.data(), m) - exact.mean;
    sum += z / draws;
    squares += z * z.transpose() / draws;
  }
  double worst = 0;
  for (Eigen::Index i = 0; i < m; ++i) {
    worst = std::max(worst, std::abs(sum(i)) / std::sqrt(exact.covariance(i, i) / draws));
    for (Eigen::Index j = 0; j <= i; ++j) {
      const double c = exact.covariance(i, j);
      const double error =
          std::sqrt((exact.covariance(i, i) * exact.covariance(j, j) + c * c) / draws);
      worst = std::max(worst, std::abs(squares(i, j) - c) / error);
    }
  }
  return worst;
}

TEST(ConditionalSurfaces, HaveTheMeansAndCovariancesOfUniversalKriging) {
  EXPECT_LT(worst_difference(some_holes(), line_model(), 3000), 4.5);
}

TEST(ConditionalSurfaces, HaveTheMeansAndCovariancesOfSimpleKriging) {
  SurfaceModel model = line_model();
  model.trend.clear();
  model.known_mean = 0.8;
  EXPECT_LT(worst_difference(some_holes(), model, 3000), 4.5);
}

TEST(ConditionalSurfaces, PassThroughObservationsWithoutNoise) {
  SurfaceObservations observations = some_holes();
  for (SurfaceObservation& observation : observations) observation.noise_variance = 0;
  SurfaceModel model = line_model();
  model.nugget = 0;
  const ConditionalSurfaces surfaces(observations, model, 2);
  std::vector<Site> sites;
  for (const SurfaceObservation& observation : observations) sites.push_back(observation.sites[0]);
  for (const std::vector<double>& drawn : surfaces.draws(0, 5, sites)) {
    for (std::size_t i = 0; i < drawn.size(); ++i)
      EXPECT_NEAR(drawn[i], observations[i].value, 1e-10);
  }
}

TEST(ConditionalSurfaces, KeepTheMeanOfASegmentThatWasObserved) {
  SurfaceObservation segment;
  for (int i = 0; i < 10; ++i) {
    segment.sites.push_back(site_on(3, 20 + i));
    segment.weights.push_back(0.1);
  }
  segment.value = 0.7;
  SurfaceObservations observations = some_holes();
  observations.push_back(segment);
  SurfaceModel model = line_model();
  model.nugget = 0;
  const ConditionalSurfaces surfaces(observations, model, 2);
  for (const std::vector<double>& drawn : surfaces.draws(0, 5, segment.sites)) {
    double mean = 0;
    for (const double value : drawn) mean += 0.1 * value;
    EXPECT_NEAR(mean, 0.7, 1e-10);
    EXPECT_GT(*std::max_element(drawn.begin(), drawn.end()), 0.7 + 1e-4);
  }
}

TEST(ConditionalSurfaces, AreTheSameWhateverSitesAreAskedBesides) {
  const ConditionalSurfaces surfaces(some_holes(), line_model(), 2);
  const std::vector<Site> sites = some_sites();
  const std::vector<double> whole = surfaces.draw(4, sites);
  EXPECT_EQ(ConditionalSurfaces(some_holes(), line_model(), 2).draws(2, 3, sites)[2], whole);
  for (std::size_t i = 0; i < sites.size(); ++i)
    EXPECT_EQ(surfaces.draw(4, std::span(sites).subspan(i, 1)).front(), whole[i]);
  EXPECT_NE(ConditionalSurfaces(some_holes(), line_model(), 3).draw(4, sites), whole);
}

TEST(ConditionalSurfaces, RefuseWhatCannotBeSolved) {
  const auto make = [](const SurfaceObservations& observations, const SurfaceModel& model) {
    return ConditionalSurfaces(observations, model, 1);
  };
  EXPECT_THROW(make({}, line_model()), std::invalid_argument);
  EXPECT_THROW(make({some_holes()[0]}, line_model()), std::invalid_argument);
  SurfaceModel twice = line_model();
  twice.trend.push_back(station_line());
  EXPECT_THROW(make(some_holes(), twice), std::invalid_argument);
  SurfaceModel nowhere = line_model();
  nowhere.trend.push_back(
      function_term("none", [](const Site&) { return std::numeric_limits<double>::quiet_NaN(); }));
  EXPECT_THROW(make(some_holes(), nowhere), std::invalid_argument);
  SurfaceObservations same = some_holes();
  same[1] = same[0];
  same[0].noise_variance = same[1].noise_variance = 0;
  SurfaceModel exact = line_model();
  exact.nugget = 0;
  EXPECT_THROW(make(same, exact), std::invalid_argument);
}

std::vector<Site> strip_of_sites(int count) {
  std::vector<Site> sites;
  for (int i = 0; i < count; ++i) sites.push_back(site_on(i % 26, 4 * (i / 26)));
  return sites;
}

TEST(ShareBelow, AgreesWithExactDraws) {
  const std::vector<Site> sites = strip_of_sites(260);
  const std::vector<double> weights(sites.size(), 2.5);
  const std::vector<double> thresholds = {0.9, 1.0};
  constexpr int draws = 2000;
  const ConditionalSurfaces surfaces(some_holes(), line_model(), 5);
  const std::vector<ShareBelow> told = share_below(surfaces, sites, weights, thresholds, draws, {});
  const Given exact = given(some_holes(), line_model(), sites);
  const auto m = static_cast<Eigen::Index>(sites.size());
  const Eigen::MatrixXd root =
      (exact.covariance + 1e-12 * Eigen::MatrixXd::Identity(m, m)).llt().matrixL();
  std::mt19937_64 stream(9);
  std::normal_distribution<double> normal;
  std::vector<std::vector<double>> shares(2);
  for (int d = 0; d < draws; ++d) {
    const Eigen::VectorXd z =
        exact.mean + root * Eigen::VectorXd::NullaryExpr(m, [&] { return normal(stream); });
    for (std::size_t t = 0; t < 2; ++t)
      shares[t].push_back((z.array() < thresholds[t]).cast<double>().mean());
  }
  for (std::size_t t = 0; t < 2; ++t) {
    double mean = 0;
    double squares = 0;
    for (const double share : shares[t]) {
      mean += share / draws;
      squares += share * share / draws;
    }
    const double sd = std::sqrt(squares - mean * mean);
    std::sort(shares[t].begin(), shares[t].end());
    EXPECT_EQ(told[t].draws, draws);
    EXPECT_EQ(told[t].threshold, thresholds[t]);
    EXPECT_NEAR(told[t].mean, mean, 4.5 * sd * std::sqrt(2.0 / draws));
    // A 5 % point of 2,000 normal numbers has the standard error 2.11 sd / sqrt(2,000).
    EXPECT_NEAR(told[t].lower, shares[t][draws / 20], 4.5 * 2.11 * sd * std::sqrt(2.0 / draws));
    EXPECT_NEAR(told[t].upper, shares[t][draws - draws / 20],
                4.5 * 2.11 * sd * std::sqrt(2.0 / draws));
    EXPECT_GT(told[t].upper - told[t].lower, 2.5 * sd);
  }
}

TEST(ShareBelow, CountsByWeightAndDoesNotDependOnThreads) {
  const std::vector<Site> sites = strip_of_sites(9000);
  std::vector<double> weights;
  for (std::size_t i = 0; i < sites.size(); ++i)
    weights.push_back(i % 3 == 0 ? 0 : 1 + 0.1 * static_cast<double>(i % 7));
  const std::vector<double> thresholds = {0.95};
  const ConditionalSurfaces surfaces(some_holes(), line_model(), 5);
  Work two;
  two.threads = 2;
  const std::vector<ShareBelow> told = share_below(surfaces, sites, weights, thresholds, 3, two);
  const std::vector<ShareBelow> again = share_below(surfaces, sites, weights, thresholds, 3, {});
  EXPECT_EQ(told[0].mean, again[0].mean);
  EXPECT_EQ(told[0].lower, again[0].lower);
  EXPECT_EQ(told[0].upper, again[0].upper);
  double mean = 0;
  for (int d = 0; d < 3; ++d) {
    const std::vector<double> drawn = surfaces.draw(d, sites);
    double below = 0;
    double whole = 0;
    for (std::size_t i = 0; i < sites.size(); ++i) {
      below += drawn[i] < 0.95 ? weights[i] : 0;
      whole += weights[i];
    }
    mean += below / whole / 3;
  }
  EXPECT_NEAR(told[0].mean, mean, 1e-12);
}

TEST(ShareBelow, PassesOverSitesWithoutAValue) {
  SurfaceModel model = line_model();
  model.trend = {constant_term(), function_term("gap", [](const Site& site) {
                   return site.lateral == 1 ? std::numeric_limits<double>::quiet_NaN()
                                            : site.station_m;
                 })};
  const ConditionalSurfaces surfaces(some_holes(), model, 5);
  const std::vector<Site> with_gap = {site_on(0, 10), site_on(1, 10), site_on(2, 30)};
  const std::vector<Site> without = {site_on(0, 10), site_on(2, 30)};
  const std::vector<double> thresholds = {1.0};
  const std::vector<double> three(3, 1.0);
  const std::vector<double> two(2, 1.0);
  EXPECT_EQ(share_below(surfaces, with_gap, three, thresholds, 20, {})[0].mean,
            share_below(surfaces, without, two, thresholds, 20, {})[0].mean);
  const std::vector<Site> gap = {site_on(1, 10)};
  const std::vector<double> one(1, 1.0);
  EXPECT_TRUE(std::isnan(share_below(surfaces, gap, one, thresholds, 20, {})[0].mean));
}

TEST(ShareBelow, RefusesNoDrawsAndMissingWeights) {
  const ConditionalSurfaces surfaces(some_holes(), line_model(), 5);
  const std::vector<Site> sites = some_sites();
  const std::vector<double> thresholds = {1.0};
  const std::vector<double> weights(sites.size(), 1.0);
  EXPECT_THROW(share_below(surfaces, sites, weights, thresholds, 0, {}), std::invalid_argument);
  EXPECT_THROW(share_below(surfaces, sites, std::span(weights).first(2), thresholds, 5, {}),
               std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
