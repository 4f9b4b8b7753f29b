// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/surface_model.hpp"

#include "drawn_fields.hpp"

#include <Eigen/LU>

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr double nugget = 0.15;

SurfaceModel every_part() {
  return {plane_trend(), 0, every_metric(), nugget};
}

/// Points with known noise of their own.
SurfaceObservations points(std::size_t count, unsigned seed = 5) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> value(1, 0.7);
  SurfaceObservations observations;
  for (const Site& site : sites_on_laterals(count, seed))
    observations.push_back({{site}, {1}, value(random), 0.01 * std::abs(value(random))});
  return observations;
}

/// The formula of the header, by general matrices.
double by_definition(const SurfaceObservations& observations, const SurfaceModel& model) {
  const auto n = static_cast<Eigen::Index>(observations.size());
  const auto p = static_cast<Eigen::Index>(model.trend.size());
  Eigen::MatrixXd v(n, n);
  Eigen::MatrixXd x(n, p);
  Eigen::VectorXd y(n);
  fill(model.covariance, observations, observations,
       {v.data(), static_cast<int>(n), static_cast<int>(n), static_cast<int>(n)});
  for (Eigen::Index i = 0; i < n; ++i) {
    const SurfaceObservation& o = observations[static_cast<std::size_t>(i)];
    y[i] = o.value;
    v(i, i) += o.noise_variance;
    x.row(i).setZero();
    for (std::size_t s = 0; s < o.sites.size(); ++s) {
      v(i, i) += model.nugget * o.weights[s] * o.weights[s];
      std::vector<double> row(model.trend.size());
      fill(model.trend, {&o.sites[s], 1}, {row.data(), 1, static_cast<int>(p), 1});
      for (Eigen::Index k = 0; k < p; ++k)
        x(i, k) += o.weights[s] * row[static_cast<std::size_t>(k)];
      if (p == 0) y[i] -= o.weights[s] * model.known_mean;
    }
  }
  const Eigen::MatrixXd inverse = v.inverse();
  const auto log_determinant = [](const Eigen::MatrixXd& a) {
    double sum = 0;
    const Eigen::PartialPivLU<Eigen::MatrixXd> lu(a);
    for (Eigen::Index i = 0; i < a.rows(); ++i) sum += std::log(std::abs(lu.matrixLU()(i, i)));
    return sum;
  };
  const Eigen::MatrixXd gram = x.transpose() * inverse * x;
  Eigen::VectorXd rest = y;
  double trend_part = 0;
  if (p > 0) {
    rest -= x * gram.lu().solve(x.transpose() * inverse * y);
    trend_part = log_determinant(gram) - log_determinant(x.transpose() * x);
  }
  return -0.5 * (static_cast<double>(n - p) * std::log(2 * std::numbers::pi) + log_determinant(v) +
                 trend_part + rest.dot(inverse * rest));
}

TEST(RestrictedLikelihood, IsTheFormula) {
  const auto observations = points(90);
  SurfaceModel model = every_part();
  EXPECT_NEAR(restricted_likelihood(observations, model, false)->log_likelihood,
              by_definition(observations, model), 1e-8);
  model.trend.clear();
  model.known_mean = 0.8;
  EXPECT_NEAR(restricted_likelihood(observations, model, false)->log_likelihood,
              by_definition(observations, model), 1e-8);
}

/// Means of segments, differences and points.
SurfaceObservations sums_of_sites(std::size_t count) {
  const auto sites = sites_on_laterals(4 * count, 12);
  SurfaceObservations observations = points(count);
  for (std::size_t i = 0; i < count; i += 2) {
    for (std::size_t k = 0; k < 1 + i % 4; ++k) {
      observations[i].sites.push_back(sites[4 * i + k]);
      observations[i].weights.push_back(k % 2 == 0 ? 0.5 : -0.3);
    }
  }
  return observations;
}

TEST(RestrictedLikelihood, IsTheFormulaForSumsToo) {
  const auto observations = sums_of_sites(75);
  EXPECT_NEAR(restricted_likelihood(observations, every_part(), false)->log_likelihood,
              by_definition(observations, every_part()), 1e-8);
}

void expect_gradient(const SurfaceObservations& observations, const SurfaceModel& model) {
  const auto value = restricted_likelihood(observations, model, true);
  ASSERT_TRUE(value);
  const auto parameters = parameters_of(model.covariance);
  ASSERT_EQ(value->gradient.size(), parameters.size() + 1);
  constexpr double step = 1e-4;
  for (std::size_t k = 0; k < value->gradient.size(); ++k) {
    const auto at = [&](double factor) {
      SurfaceModel near = model;
      if (k < parameters.size())
        set_value(near.covariance, parameters[k],
                  value_of(near.covariance, parameters[k]) * factor);
      else
        near.nugget *= factor;
      return restricted_likelihood(observations, near, false)->log_likelihood;
    };
    const double numeric = (at(std::exp(step)) - at(std::exp(-step))) / (2 * step);
    EXPECT_NEAR(value->gradient[k], numeric, 2e-6) << k;
  }
}

TEST(RestrictedLikelihood, HasTheGradientOfFiniteDifferences) {
  expect_gradient(points(140), every_part());
  expect_gradient(sums_of_sites(75), every_part());
  SurfaceModel known = every_part();
  known.trend.clear();
  known.known_mean = 1;
  expect_gradient(points(60), known);
}

TEST(RestrictedLikelihood, DoesNotDependOnTheScaleOrMixtureOfTrendColumns) {
  const auto observations = points(80);
  SurfaceModel scaled = every_part();
  scaled.trend = {
      function_term("thousand", [](const Site&) { return 1000; }),
      function_term("east", [](const Site& site) { return 1e-4 * (site.place.x - 499900); }),
      function_term("north",
                    [](const Site& site) { return site.place.y - 4100000 + 3 * site.place.x; })};
  // log|X'V^-1 X| - log|X'X| is the same for X and X times any regular matrix.
  EXPECT_NEAR(restricted_likelihood(observations, scaled, false)->log_likelihood,
              restricted_likelihood(observations, every_part(), false)->log_likelihood, 1e-7);
}

TEST(RestrictedLikelihood, DoesNotDependOnTheOrderOfTheObservations) {
  auto observations = points(80);
  const double before = restricted_likelihood(observations, every_part(), false)->log_likelihood;
  std::reverse(observations.begin(), observations.end());
  EXPECT_NEAR(restricted_likelihood(observations, every_part(), false)->log_likelihood, before,
              1e-9);
}

TEST(RestrictedLikelihood, DoesNotDependOnWhereTheFieldLies) {
  auto observations = points(80);
  const double before = restricted_likelihood(observations, every_part(), false)->log_likelihood;
  for (SurfaceObservation& observation : observations) {
    observation.sites[0].place.x += 12345;
    observation.sites[0].place.y -= 54321;
  }
  EXPECT_NEAR(restricted_likelihood(observations, every_part(), false)->log_likelihood, before,
              1e-6);
}

TEST(RestrictedLikelihood, IsNothingForDependentColumnsOrASingularCovariance) {
  SurfaceModel model = every_part();
  model.trend.push_back(function_term("twice", [](const Site&) { return 2; }));
  EXPECT_FALSE(restricted_likelihood(points(50), model, false));
  SurfaceModel singular{{constant_term()}, 0, {{{"all", 1, {}}}}, 0};
  auto observations = points(50);
  for (SurfaceObservation& observation : observations) observation.noise_variance = 0;
  EXPECT_FALSE(restricted_likelihood(observations, singular, false));
}

SurfaceModel local_form() {
  const CorrelationFactor plane{Metric::plane, VariogramShape::exponential, 10, 0, 1};
  return {{constant_term()}, 0, {{{"local", 0.5, {plane}}}}, 0.5};
}

/// What `local_form` is fitted to: a range of 15 m in 100 m x 20 m.
Samples local_samples(std::size_t count, unsigned seed) {
  CovarianceModel truth = local_form().covariance;
  truth.terms[0].variance = 0.8;
  truth.terms[0].factors[0].range_m = 15;
  return FieldDraws(sites_on_laterals(count, seed), truth, 0.2, seed).next();
}

TEST(FitSurface, StandsWhereTheLikelihoodIsLevel) {
  const auto observations = observations_of(local_samples(120, 2));
  const SurfaceFit fit = fit_surface(observations, local_form(), {}, {});
  EXPECT_TRUE(fit.converged);
  EXPECT_EQ(fit.why, "");
  const auto value = restricted_likelihood(observations, fit.model, true);
  EXPECT_NEAR(value->log_likelihood, fit.log_likelihood, 1e-9);
  for (const double slope : value->gradient) EXPECT_NEAR(slope, 0, 1e-2);
}

TEST(FitSurface, FindsTheSameFromAnyFirstStart) {
  const auto observations = observations_of(local_samples(120, 2));
  SurfaceModel far = local_form();
  far.covariance.terms[0].factors[0].range_m = 500;
  far.covariance.terms[0].variance = 1e4;
  FitOptions other;
  other.seed = 77;
  const SurfaceFit a = fit_surface(observations, local_form(), {}, {});
  const SurfaceFit b = fit_surface(observations, far, other, {});
  EXPECT_NEAR(a.log_likelihood, b.log_likelihood, 1e-6);
  ASSERT_EQ(b.parameters.size(), 3U);
  for (std::size_t k = 0; k < 3; ++k)
    EXPECT_NEAR(a.parameters[k].value, b.parameters[k].value, 2e-3 * a.parameters[k].value);
}

TEST(FitSurface, IsTheSameBitByBitForAnyOrderAndNumberOfThreads) {
  auto samples = local_samples(150, 4);
  const SurfaceFit one = fit_surface(observations_of(samples), local_form(), {}, {});
  std::reverse(samples.begin(), samples.end());
  Work three;
  three.threads = 3;
  const SurfaceFit other = fit_surface(observations_of(samples), local_form(), {}, three);
  EXPECT_EQ(one.log_likelihood, other.log_likelihood);
  EXPECT_EQ(one.coefficients, other.coefficients);
  ASSERT_EQ(one.parameters.size(), other.parameters.size());
  for (std::size_t k = 0; k < one.parameters.size(); ++k)
    EXPECT_EQ(one.parameters[k].value, other.parameters[k].value);
}

TEST(FitSurface, LeavesTheTrendAloneWhereNeighboursShareNothing) {
  const SurfaceModel form = local_form();
  int alone = 0;
  for (unsigned seed = 1; seed <= 20; ++seed) {
    FieldDraws draws(sites_on_laterals(60, seed), {}, 0.5, seed);
    const SurfaceFit fit = fit_surface(observations_of(draws.next()), form, {}, {});
    if (!fit.model.covariance.terms.empty()) continue;
    ++alone;
    EXPECT_FALSE(fit.why.empty());
    ASSERT_EQ(fit.parameters.size(), 1U);
    EXPECT_EQ(fit.parameters[0].name, "nugget");
    // Of 59 free observations the logarithm of a variance has the error sqrt(2 / 59).
    EXPECT_NEAR(fit.parameters[0].log_error, std::sqrt(2.0 / 59), 1e-6);
    EXPECT_NEAR(fit.coefficient_errors[0], std::sqrt(fit.model.nugget / 60), 1e-9);
  }
  EXPECT_GE(alone, 15);
}

TEST(FitSurface, LeavesTheTrendAloneWithTooLittleData) {
  const auto samples = local_samples(9, 3);
  const SurfaceFit fit =
      fit_surface(observations_of({samples.begin(), samples.begin() + 8}), local_form(), {}, {});
  EXPECT_TRUE(fit.model.covariance.terms.empty());
  EXPECT_NE(fit.why.find("8 measurements are too few"), std::string::npos) << fit.why;
  double mean = 0;
  for (std::size_t i = 0; i < 8; ++i) mean += samples[i].value / 8;
  EXPECT_NEAR(fit.coefficients[0], mean, 1e-9);
}

TEST(FitSurface, SaysSoWhenTheTrendExplainsEverything) {
  Samples samples;
  for (const Site& site : sites_on_laterals(40))
    samples.push_back({site, 3 + 0.01 * (site.place.x - 500000), 0});
  SurfaceModel form = local_form();
  form.trend = plane_trend();
  const SurfaceFit fit = fit_surface(observations_of(samples), form, {}, {});
  EXPECT_NE(fit.why.find("explains every measurement"), std::string::npos) << fit.why;
  EXPECT_NEAR(fit.coefficients[1], 0.01, 1e-9);
  EXPECT_LT(fit.model.nugget, 1e-12);
  for (Sample& sample : samples) sample.value = 0;
  EXPECT_FALSE(fit_surface(observations_of(samples), form, {}, {}).why.empty());
}

TEST(FitSurface, DropsATermThatVanishes) {
  SurfaceModel form = local_form();
  form.covariance.terms.push_back(
      {"laterals", 0.3, {{Metric::same_lateral, VariogramShape::exponential, 1, 0, 1}}});
  int dropped = 0;
  for (unsigned seed = 1; seed <= 8; ++seed) {
    const SurfaceFit fit = fit_surface(observations_of(local_samples(120, seed)), form, {}, {});
    const auto& terms = fit.model.covariance.terms;
    const bool gone = std::none_of(terms.begin(), terms.end(), [](const CovarianceTerm& term) {
      return term.name == "laterals";
    });
    if (!gone) continue;
    ++dropped;
    EXPECT_FALSE(terms.empty());
    const auto told = std::count_if(fit.remarks.begin(), fit.remarks.end(), [](const auto& text) {
      return text.find("'laterals' vanished") != std::string::npos;
    });
    EXPECT_EQ(told, 1);
  }
  // A variance of 0 is estimated as 0 half of the time.
  EXPECT_GE(dropped, 2);
}

TEST(FitSurface, TakesTheNoiseThatIsKnownOffTheNugget) {
  auto samples = local_samples(150, 6);
  const SurfaceFit without = fit_surface(observations_of(samples), local_form(), {}, {});
  for (Sample& sample : samples) sample.noise_variance = 0.05;
  const SurfaceFit with = fit_surface(observations_of(samples), local_form(), {}, {});
  ASSERT_GT(without.model.nugget, 0.05);
  EXPECT_NEAR(with.log_likelihood, without.log_likelihood, 1e-6);
  EXPECT_NEAR(with.model.nugget, without.model.nugget - 0.05, 2e-3 * without.model.nugget);
}

/// The best likelihood over variance and nugget, on finer and finer grids about the best of the
/// last.
double highest_beside(const SurfaceObservations& observations, SurfaceModel model) {
  double best = restricted_likelihood(observations, model, false)->log_likelihood;
  for (const double step : {0.15, 0.03, 0.006}) {
    const SurfaceModel middle = model;
    for (int i = -6; i <= 6; ++i) {
      for (int j = -6; j <= 6; ++j) {
        SurfaceModel there = middle;
        there.covariance.terms[0].variance *= std::exp(step * i);
        there.nugget *= std::exp(step * j);
        const double value = restricted_likelihood(observations, there, false)->log_likelihood;
        if (value <= best) continue;
        best = value;
        model = there;
      }
    }
  }
  return best;
}

TEST(FitSurface, ProfileLimitsStandWhereTheLikelihoodHasFallenByTheirThreshold) {
  const auto observations = observations_of(local_samples(150, 4));
  FitOptions options;
  options.profile_ranges = true;
  const SurfaceFit fit = fit_surface(observations, local_form(), options, {});
  ASSERT_EQ(fit.parameters.size(), 3U);
  const ParameterEstimate& range = fit.parameters[1];
  ASSERT_TRUE(range.has_limits);
  EXPECT_LT(range.lower, range.value);
  EXPECT_GT(range.upper, range.value);
  for (const double limit : {range.lower, range.upper}) {
    if (limit == 0 || std::isinf(limit)) continue;
    SurfaceModel held = fit.model;
    held.covariance.terms[0].factors[0].range_m = limit;
    EXPECT_NEAR(2 * (fit.log_likelihood - highest_beside(observations, held)), 3.8415, 0.01)
        << limit;
  }
}

TEST(FitSurface, RefusesWhatCannotBeFitted) {
  const auto observations = observations_of(local_samples(20, 1));
  SurfaceModel form = local_form();
  form.trend = {constant_term(), function_term("twice", [](const Site&) { return 2; })};
  EXPECT_THROW(fit_surface(observations, form, {}, {}), std::invalid_argument);
  form.trend = {function_term("none", [](const Site&) { return std::nan(""); })};
  EXPECT_THROW(fit_surface(observations, form, {}, {}), std::invalid_argument);
  EXPECT_THROW(fit_surface({observations[0]}, local_form(), {}, {}), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
