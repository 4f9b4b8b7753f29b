// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/comparison.hpp"

#include "evendrip/surface/estimators.hpp"

#include "lateral_samples.hpp"
#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <mutex>
#include <set>
#include <vector>

namespace evendrip {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

/// Integral of (forecast distribution - step at the observed)^2 over +-12 standard deviations, by
/// Simpson's rule on both sides of the step.
double score_by_integration(double mean, double sd, double observed) {
  const auto part = [&](double from, double to, double step) {
    constexpr int pieces = 20000;
    const double h = (to - from) / pieces;
    double sum = 0;
    for (int i = 0; i <= pieces; ++i) {
      const double f = std::erfc((mean - (from + i * h)) / (sd * std::sqrt(2.0))) / 2 - step;
      sum += f * f * (i == 0 || i == pieces ? 1 : i % 2 == 1 ? 4 : 2);
    }
    return sum * h / 3;
  };
  const double low = std::min(mean - 12 * sd, observed);
  const double high = std::max(mean + 12 * sd, observed);
  return part(low, observed, 0) + part(observed, high, 1);
}

/// Says the same everywhere.
Estimator always(double value, double variance) {
  return {"always", [=](const Samples&, std::span<const Site> sites) {
            return std::vector<Prediction>(sites.size(), {value, variance});
          }};
}

TEST(RankedProbabilityScore, IsTheIntegralItStandsFor) {
  for (const double observed : {0.2, 0.9, 1.0, 1.3, 4.0}) {
    for (const double sd : {0.05, 0.3, 2.0})
      EXPECT_NEAR(ranked_probability_score(1, sd, observed), score_by_integration(1, sd, observed),
                  1e-9);
  }
}

TEST(RankedProbabilityScore, IsTheAbsoluteErrorOfAPointForecast) {
  EXPECT_EQ(ranked_probability_score(1, 0, 1.25), 0.25);
  EXPECT_NEAR(ranked_probability_score(1, 1e-9, 1.25), 0.25, 1e-8);
}

TEST(CrossValidation, ByEmitterAgreesWithLeaveOneOutOfKriging) {
  Samples samples = scattered(40);
  samples.push_back(samples[3]);
  samples.back().value += 0.4;
  const VariogramModel model{VariogramShape::spherical, 0.05, 1, 40, 0, 1};
  for (const int most : {0, 8}) {
    const Neighbourhood neighbourhood{most, infinite, 1};
    const Estimator kriging{"kriging", [&](const Samples& known, std::span<const Site> sites) {
                              std::vector<Point> places;
                              for (const Site& site : sites) places.push_back(site.place);
                              return OrdinaryKriging(known, model, neighbourhood).at(places, {});
                            }};
    const EstimatorScore score = cross_validate(samples, kriging, LeaveOut::emitter, {});
    const LeaveOneOut check = leave_one_out(samples, model, neighbourhood, {});
    for (std::size_t i = 0; i < samples.size(); ++i) {
      EXPECT_NEAR(score.predicted[i].value, check.predicted[i], 1e-10);
      EXPECT_NEAR(score.predicted[i].variance, check.variance[i], 1e-10);
    }
    EXPECT_NEAR(score.rmse, check.rmse, 1e-10);
    EXPECT_NEAR(score.mean_error, check.mean_error, 1e-10);
  }
}

TEST(CrossValidation, ByInverseDistanceAgreesWithItsLeaveOneOut) {
  const Samples samples = scattered(30);
  const EstimatorScore score =
      cross_validate(samples, inverse_distance_estimator(2, 8), LeaveOut::emitter, {});
  const LeaveOneOut check = leave_one_out(samples, InverseDistance{2, {8, infinite, 1}}, {});
  EXPECT_NEAR(score.rmse, check.rmse, 1e-12);
  EXPECT_TRUE(std::isnan(score.coverage_90));
}

TEST(CrossValidation, HidesWholeLateralsAndAllSamplesOfOnePlace) {
  Samples samples = dug_along(5, 3, {}, 1);
  samples.push_back(samples[2]);
  samples.back().site.lateral = -1;
  for (int i = 0; i < 2; ++i) samples.push_back(sample_at(7 + i, 8, 1, 0));
  std::mutex mutex;
  std::vector<std::size_t> sizes;
  const Estimator watching{
      "watching", [&](const Samples& known, std::span<const Site> sites) {
        const std::scoped_lock lock(mutex);
        sizes.push_back(sites.size());
        for (const Site& site : sites) {
          for (const Sample& sample : known) {
            EXPECT_FALSE(site.lateral >= 0 && sample.site.lateral == site.lateral);
            EXPECT_FALSE(sample.site.place == site.place);
          }
        }
        return std::vector<Prediction>(sites.size());
      }};
  cross_validate(samples, watching, LeaveOut::lateral, {});
  std::sort(sizes.begin(), sizes.end());
  EXPECT_EQ(sizes, (std::vector<std::size_t>{1, 1, 3, 3, 3, 3, 4}));
}

TEST(CrossValidation, SumsUpErrorsCoverageAndScore) {
  const Samples samples{sample_at(0, 0, 1.0), sample_at(1, 0, 1.1), sample_at(2, 0, 1.3),
                        sample_at(3, 0, 0.6)};
  const EstimatorScore score = cross_validate(samples, always(1, 0.01), LeaveOut::emitter, {});
  EXPECT_NEAR(score.mean_error, 0, 1e-15);
  EXPECT_NEAR(score.rmse, std::sqrt((0.01 + 0.09 + 0.16) / 4), 1e-15);
  EXPECT_EQ(score.coverage_90, 0.5);
  double sum = 0;
  for (const Sample& sample : samples) sum += score_by_integration(1, 0.1, sample.value);
  EXPECT_NEAR(score.mean_score, sum / 4, 1e-9);
  EXPECT_EQ(score.doubt, "");
}

TEST(CrossValidation, AddsTheKnownNoiseOfWhatWasObserved) {
  Samples samples{sample_at(0, 0, 1.0), sample_at(1, 0, 1.3)};
  EXPECT_EQ(cross_validate(samples, always(1, 0.01), LeaveOut::emitter, {}).coverage_90, 0.5);
  samples[1].noise_variance = 0.03;
  EXPECT_EQ(cross_validate(samples, always(1, 0.01), LeaveOut::emitter, {}).coverage_90, 1);
}

TEST(CrossValidation, ScoresPointForecastsByTheirAbsoluteError) {
  Samples samples{sample_at(0, 0, 1.0), sample_at(1, 0, 1.3)};
  samples[1].noise_variance = 0.03;
  const EstimatorScore score = cross_validate(samples, always(1, 0), LeaveOut::emitter, {});
  EXPECT_TRUE(std::isnan(score.coverage_90));
  EXPECT_NEAR(score.mean_score, 0.15, 1e-15);
}

TEST(CrossValidation, TellsHowManyCouldNotBePredicted) {
  const Samples samples = scattered(12);
  const EstimatorScore score =
      cross_validate(samples, triangulation_estimator(), LeaveOut::emitter, {});
  EXPECT_LT(score.compared, 12);
  EXPECT_EQ(score.doubt, std::to_string(12 - score.compared) + " of 12 could not be predicted");
  const EstimatorScore alone =
      cross_validate(dug_along(1, 6, {}, 2), zone_mean_estimator(), LeaveOut::lateral, {});
  EXPECT_EQ(alone.compared, 0);
  EXPECT_TRUE(std::isnan(alone.rmse));
}

TEST(CrossValidation, DependsNeitherOnThreadsNorOnTheOrderOfSamples) {
  const Samples samples = dug_along(8, 4, {0.9, 0.1, 0.05, 0}, 3);
  Samples turned(samples.rbegin(), samples.rend());
  Work two;
  two.threads = 2;
  for (const Estimator& estimator : {lateral_mean_estimator(), ordinary_kriging_estimator(16)}) {
    const auto one = cross_validate(samples, estimator, LeaveOut::emitter, {});
    const auto by_two = cross_validate(samples, estimator, LeaveOut::emitter, two);
    const auto by_turned = cross_validate(turned, estimator, LeaveOut::emitter, {});
    EXPECT_EQ(one.mean_score, by_two.mean_score);
    EXPECT_NEAR(one.mean_score, by_turned.mean_score, 1e-9);
  }
}

}  // namespace
}  // namespace evendrip
