// SPDX-License-Identifier: Apache-2.0
// Fields drawn from known parameters are found again within the standard errors that the fit
// states.
#include "evendrip/surface/surface_model.hpp"

#include "drawn_fields.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <thread>

namespace evendrip {
namespace {

struct Moments {
  double mean = 0;
  double sd = 0;
};

Moments moments_of(const std::vector<double>& values) {
  const auto n = static_cast<double>(values.size());
  Moments moments;
  moments.mean = std::accumulate(values.begin(), values.end(), 0.0) / n;
  for (const double value : values)
    moments.sd += (value - moments.mean) * (value - moments.mean) / (n - 1);
  moments.sd = std::sqrt(moments.sd);
  return moments;
}

Work all_threads() {
  Work work;
  work.threads = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  return work;
}

/// What `fields` fits say of the parameters, in their standard errors from the truth.
struct Recovery {
  std::vector<std::vector<double>> scores;  ///< of each parameter, then of each coefficient
  int complete = 0;                         ///< fits that kept all terms and state all errors
};

Recovery recovered(const SurfaceModel& truth, const std::vector<Site>& sites, int fields) {
  FieldDraws draws(sites, truth.covariance, truth.nugget, 31);
  const auto parameters = parameters_of(truth.covariance);
  Recovery recovery;
  recovery.scores.resize(parameters.size() + 1 + truth.trend.size());
  FitOptions options;
  options.starts = 2;
  for (int field = 0; field < fields; ++field) {
    const SurfaceFit fit =
        fit_surface(observations_of(draws.next()), truth, options, all_threads());
    if (fit.parameters.size() != parameters.size() + 1) continue;
    if (std::any_of(fit.parameters.begin(), fit.parameters.end(),
                    [](const ParameterEstimate& p) { return !std::isfinite(p.log_error); }))
      continue;
    ++recovery.complete;
    for (std::size_t k = 0; k < fit.parameters.size(); ++k) {
      const double known =
          k < parameters.size() ? value_of(truth.covariance, parameters[k]) : truth.nugget;
      recovery.scores[k].push_back(std::log(fit.parameters[k].value / known) /
                                   fit.parameters[k].log_error);
    }
    for (std::size_t k = 0; k < truth.trend.size(); ++k)
      recovery.scores[parameters.size() + 1 + k].push_back(fit.coefficients[k] /
                                                           fit.coefficient_errors[k]);
  }
  return recovery;
}

/// With 150 draws the mean of a standard normal has an error of 0.08, its standard deviation one of
/// 0.06; what is allowed beyond three of them is the skew of likelihoods of finite samples.
void expect_standard(const std::vector<double>& scores, const std::string& what) {
  const Moments moments = moments_of(scores);
  EXPECT_NEAR(moments.mean, 0, 0.4) << what;
  EXPECT_NEAR(moments.sd, 1, 0.25) << what;
}

TEST(FitSurface, FindsTheParametersOfAFieldWithinTheirStandardErrors) {
  const CorrelationFactor plane{Metric::plane, VariogramShape::exponential, 4, 0, 1};
  const SurfaceModel truth{{constant_term()}, 0, {{{"local", 0.7, {plane}}}}, 0.3};
  const Recovery recovery = recovered(truth, sites_on_laterals(250), 150);
  EXPECT_GE(recovery.complete, 135);
  for (std::size_t k = 0; k < recovery.scores.size(); ++k)
    expect_standard(recovery.scores[k], std::to_string(k));
}

TEST(FitSurface, FindsTheShareOfTheLateralsWithinItsStandardError) {
  const CovarianceTerm along{
      "along", 0.5, {{Metric::along_lateral, VariogramShape::exponential, 6, 0, 1}}};
  const SurfaceModel truth{plane_trend(), 0, {{along}}, 0.2};
  const Recovery recovery = recovered(truth, sites_on_laterals(250), 150);
  EXPECT_GE(recovery.complete, 135);
  for (std::size_t k = 0; k < recovery.scores.size(); ++k)
    expect_standard(recovery.scores[k], std::to_string(k));
}

TEST(ProfileLimits, HoldTheTrueRangeAboutAsOftenAsTheySay) {
  const CorrelationFactor plane{Metric::plane, VariogramShape::exponential, 4, 0, 1};
  const SurfaceModel truth{{constant_term()}, 0, {{{"local", 0.7, {plane}}}}, 0.2};
  FieldDraws draws(sites_on_laterals(120), truth.covariance, truth.nugget, 8);
  FitOptions options;
  options.starts = 2;
  options.profile_ranges = true;
  int told = 0;
  int held = 0;
  for (int field = 0; field < 150; ++field) {
    const SurfaceFit fit =
        fit_surface(observations_of(draws.next()), truth, options, all_threads());
    if (fit.parameters.size() != 3) continue;
    ++told;
    EXPECT_TRUE(fit.parameters[1].has_limits);
    held += fit.parameters[1].lower <= 4 && fit.parameters[1].upper >= 4 ? 1 : 0;
  }
  EXPECT_GE(told, 100);
  // 95 % of 150 give or take 2.7 of them.
  EXPECT_NEAR(static_cast<double>(held) / told, 0.95, 0.055);
}

}  // namespace
}  // namespace evendrip
