// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/model_choice.hpp"
#include "evendrip/surface/trend.hpp"

#include "../../src/surface/joint_samples.hpp"

#include "lateral_samples.hpp"
#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace evendrip {
namespace {

SurfaceModel lateral_model() {
  SurfaceModel model;
  model.trend = {constant_term(), station_term(field_under(8), 1)};
  CorrelationFactor local;
  local.range_m = 20;
  model.covariance.terms = {{"laterals", 0.01, {{Metric::same_lateral}}},
                            {"local", 0.004, {local}}};
  model.nugget = 0.002;
  return model;
}

TEST(ModelEstimator, AgreesWithWhatJointSamplesSayOfEachLateral) {
  Samples samples = dug_along(8, 4, {0.9, 0.1, 0.05, -0.1}, 61);
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i].noise_variance = 0.0005 * static_cast<double>(i % 3);
  const EstimatorScore score =
      cross_validate(samples, model_estimator("model", lateral_model()), LeaveOut::lateral, {});
  const JointSamples joint(samples, lateral_model());
  for (int lateral = 0; lateral < 8; ++lateral) {
    const std::vector<int> group{4 * lateral, 4 * lateral + 1, 4 * lateral + 2, 4 * lateral + 3};
    const SeenFromOthers seen = joint.from_others(group);
    for (std::size_t k = 0; k < group.size(); ++k) {
      const auto i = static_cast<std::size_t>(group[k]);
      EXPECT_NEAR(score.predicted[i].value, samples[i].value - seen.errors[k], 1e-10);
      EXPECT_NEAR(score.predicted[i].variance + samples[i].noise_variance, seen.variances[k],
                  1e-10);
    }
  }
  EXPECT_EQ(score.compared, 32);
}

TEST(ModelEstimator, SaysNothingOfAZoneThatHasNoSampleLeft) {
  Samples samples = dug_along(4, 3, {}, 62);
  for (Sample sample : dug_along(1, 3, {}, 63, 1)) {
    sample.site.lateral = 99;
    samples.push_back(sample);
  }
  Field field = field_under(4);
  field.zones.push_back(field.zones[0]);
  SurfaceModel model;
  model.trend = {zone_term(field, 0), zone_term(field, 1)};
  model.nugget = 0.01;
  const EstimatorScore score =
      cross_validate(samples, model_estimator("zone means", model), LeaveOut::lateral, {});
  EXPECT_EQ(score.compared, 12);
  for (std::size_t i = 0; i < samples.size(); ++i)
    EXPECT_EQ(std::isnan(score.predicted[i].value), i >= 12);
}

TEST(ModelEstimator, SaysNothingWhereTooFewSamplesAreLeft) {
  const std::vector<Site> sites{sample_at(5, 5, 0).site};
  const Samples one{sample_at(0, 0, 1)};
  SurfaceModel model;
  model.trend = {constant_term(),
                 function_term("east", [](const Site& site) { return site.place.x + 1; })};
  model.nugget = 0.1;
  EXPECT_TRUE(std::isnan(model_estimator("east", model).predict(one, sites)[0].value));
}

TEST(ModelEstimator, PredictsAConstantPerfectly) {
  const Samples samples = dug_along(8, 4, {0.85, 0, 0, 0}, 64);
  const EstimatorScore score =
      cross_validate(samples, model_estimator("model", lateral_model()), LeaveOut::emitter, {});
  EXPECT_NEAR(score.rmse, 0, 1e-11);
}

}  // namespace
}  // namespace evendrip
