// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/estimators.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

const VariogramModel model{VariogramShape::spherical, 0.05, 1, 40, 0, 1};
constexpr double infinite = std::numeric_limits<double>::infinity();

Samples without(const Samples& samples, std::size_t i) {
  Samples rest = samples;
  rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(i));
  return rest;
}

TEST(LeaveOneOut, ByKrigingEqualsKrigingWithThatSampleTakenAway) {
  const Samples samples = scattered(40);
  for (const Neighbourhood& neighbourhood :
       {Neighbourhood{0, infinite, 1}, Neighbourhood{8, infinite, 1}, Neighbourhood{8, 30, 2}}) {
    const LeaveOneOut check = leave_one_out(samples, model, neighbourhood, {});
    ASSERT_EQ(check.predicted.size(), samples.size());
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const OrdinaryKriging rest(without(samples, i), model, neighbourhood);
      const Prediction expected = rest.at(std::vector{samples[i].site.place}, {})[0];
      ASSERT_EQ(std::isfinite(check.predicted[i]), std::isfinite(expected.value));
      if (!std::isfinite(expected.value)) continue;
      EXPECT_NEAR(check.predicted[i], expected.value, 1e-10);
      EXPECT_NEAR(check.variance[i], expected.variance, 1e-10);
    }
  }
}

TEST(LeaveOneOut, ByInverseDistanceEqualsTheSurfaceWithThatSampleTakenAway) {
  const Samples samples = scattered(40);
  const InverseDistance options{2, {8, infinite, 1}};
  const LeaveOneOut check = leave_one_out(samples, options, {});
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const auto expected =
        inverse_distance_at(without(samples, i), options, std::vector{samples[i].site.place}, {});
    EXPECT_NEAR(check.predicted[i], expected[0], 1e-12);
  }
  EXPECT_EQ(check.mean_squared_z, 0);
}

TEST(LeaveOneOut, SumsUpItsErrors) {
  const Samples samples = scattered(30);
  const LeaveOneOut check = leave_one_out(samples, model, {0, infinite, 1}, {});
  double sum = 0;
  double squares = 0;
  double z2 = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double error = samples[i].value - check.predicted[i];
    sum += error;
    squares += error * error;
    z2 += error * error / check.variance[i];
  }
  EXPECT_NEAR(check.mean_error, sum / 30, 1e-12);
  EXPECT_NEAR(check.rmse, std::sqrt(squares / 30), 1e-12);
  EXPECT_NEAR(check.mean_squared_z, z2 / 30, 1e-10);
  EXPECT_GT(check.correlation, 0.5);
  EXPECT_LE(check.correlation, 1);
}

TEST(LeaveOneOut, LeavesOutAllSamplesAtOnePlaceTogether) {
  Samples samples = scattered(20);
  samples.push_back(samples[4]);
  samples.back().value += 3;
  const LeaveOneOut check = leave_one_out(samples, model, {0, infinite, 1}, {});
  EXPECT_EQ(check.predicted[4], check.predicted[20]);
  const OrdinaryKriging rest(without(without(samples, 20), 4), model, {0, infinite, 1});
  EXPECT_NEAR(check.predicted[4], rest.at(std::vector{samples[4].site.place}, {})[0].value, 1e-10);
}

TEST(LeaveOneOut, OfOneSampleHasNoPrediction) {
  const Samples one = scattered(1);
  EXPECT_TRUE(std::isnan(leave_one_out(one, model, {0, infinite, 1}, {}).predicted[0]));
  EXPECT_TRUE(std::isnan(leave_one_out(one, InverseDistance{}, {}).predicted[0]));
  EXPECT_TRUE(leave_one_out({}, model, {}, {}).predicted.empty());
}

}  // namespace
}  // namespace evendrip
