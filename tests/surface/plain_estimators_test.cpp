// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/comparison.hpp"
#include "evendrip/surface/estimators.hpp"

#include "lateral_samples.hpp"
#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace evendrip {
namespace {

std::vector<Estimator> all_estimators() {
  return {
      zone_mean_estimator(),         lateral_mean_estimator(),  inverse_distance_estimator(2, 8),
      natural_neighbour_estimator(), triangulation_estimator(), ordinary_kriging_estimator(32)};
}

Site site_of(int zone, int lateral) {
  Site site;
  site.zone = zone;
  site.lateral = lateral;
  return site;
}

Sample on_lateral(int lateral, double value, int zone = 0) {
  Sample sample = sample_at(2.0 * lateral, 10 * value, value, zone);
  sample.site.lateral = lateral;
  return sample;
}

TEST(PlainEstimators, PredictAConstantPerfectly) {
  const Samples samples = dug_along(6, 5, {0.85, 0, 0, 0}, 4);
  for (const Estimator& estimator : all_estimators()) {
    for (const LeaveOut left_out : {LeaveOut::emitter, LeaveOut::lateral}) {
      const EstimatorScore score = cross_validate(samples, estimator, left_out, {});
      EXPECT_GT(score.compared, 0) << estimator.name;
      EXPECT_NEAR(score.rmse, 0, 1e-12) << estimator.name;
      EXPECT_NEAR(score.mean_score, 0, 1e-9) << estimator.name;
    }
  }
}

TEST(PlainEstimators, DoNotLookAcrossTheLimitsOfAZone) {
  Samples samples = dug_along(6, 5, {0.9, 0.05, 0.05, 0}, 5, 0);
  const Samples others = dug_along(6, 5, {0.2, 0.05, 0.05, 0}, 6, 1);
  std::vector<Site> sites;
  for (const Sample& sample : dug_along(6, 2, {}, 7, 0)) sites.push_back(sample.site);
  Samples both = samples;
  both.insert(both.end(), others.begin(), others.end());
  const std::vector<Site> elsewhere{site_of(2, 0)};
  for (const Estimator& estimator : all_estimators()) {
    if (estimator.name != "ordinary kriging") {
      const auto alone = estimator.predict(samples, sites);
      const auto beside = estimator.predict(both, sites);
      for (std::size_t i = 0; i < sites.size(); ++i) {
        if (std::isnan(alone[i].value)) continue;
        EXPECT_EQ(alone[i].value, beside[i].value) << estimator.name;
      }
    }
    for (const Prediction& p : estimator.predict(both, sites)) {
      const bool in_its_zone = std::isnan(p.value) || p.value > 0.6;
      EXPECT_TRUE(in_its_zone) << estimator.name;
    }
    EXPECT_TRUE(std::isnan(estimator.predict(both, elsewhere)[0].value)) << estimator.name;
  }
}

TEST(ZoneMean, SaysHowFarANewEmitterMayBeFromIt) {
  Samples samples{on_lateral(0, 1), on_lateral(1, 2), on_lateral(2, 3)};
  const std::vector<Site> sites{site_of(0, 7)};
  Prediction p = zone_mean_estimator().predict(samples, sites)[0];
  EXPECT_NEAR(p.value, 2, 1e-15);
  EXPECT_NEAR(p.variance, 1 + 1 / 3.0, 1e-15);
  for (Sample& sample : samples) sample.noise_variance = 0.25;
  p = zone_mean_estimator().predict(samples, sites)[0];
  EXPECT_NEAR(p.variance, 0.75 + 1 / 3.0, 1e-15);
  p = zone_mean_estimator().predict({on_lateral(0, 1.5)}, sites)[0];
  EXPECT_EQ(p.value, 1.5);
  EXPECT_EQ(p.variance, 0);
}

TEST(LateralMean, TakesTheLateralOrElseTheZone) {
  const Samples samples{on_lateral(0, 1), on_lateral(0, 3), on_lateral(1, 5), on_lateral(1, 7),
                        on_lateral(1, 6)};
  const std::vector<Site> sites{site_of(0, 0), site_of(0, 1), site_of(0, 2), site_of(0, -1)};
  const auto out = lateral_mean_estimator().predict(samples, sites);
  EXPECT_NEAR(out[0].value, 2, 1e-15);
  EXPECT_NEAR(out[1].value, 6, 1e-15);
  EXPECT_NEAR(out[2].value, 4.4, 1e-15);
  EXPECT_NEAR(out[3].value, 4.4, 1e-15);
  const double within = (2 + 2) / 3.0;  // squares about the means of the laterals, 3 free
  EXPECT_NEAR(out[0].variance, within * 1.5, 1e-14);
  EXPECT_NEAR(out[1].variance, within * (1 + 1 / 3.0), 1e-14);
}

TEST(OrdinaryKrigingEstimator, IsTheZoneMeanWhereNoStructureIsFound) {
  const Samples few = dug_along(2, 2, {}, 8);
  const std::vector<Site> sites{few[0].site};
  const Samples rest(few.begin() + 1, few.end());
  const auto kriged = ordinary_kriging_estimator(32).predict(rest, sites);
  const auto mean = zone_mean_estimator().predict(rest, sites);
  EXPECT_EQ(kriged[0].value, mean[0].value);
  EXPECT_EQ(kriged[0].variance, mean[0].variance);
}

TEST(OrdinaryKrigingEstimator, FollowsASmoothSurfaceBetterThanTheMean) {
  const Samples samples = scattered(80);
  const auto kriged =
      cross_validate(samples, ordinary_kriging_estimator(32), LeaveOut::emitter, {});
  const auto mean = cross_validate(samples, zone_mean_estimator(), LeaveOut::emitter, {});
  EXPECT_LT(kriged.mean_score, 0.6 * mean.mean_score);
  EXPECT_GT(kriged.coverage_90, 0.75);
}

}  // namespace
}  // namespace evendrip
