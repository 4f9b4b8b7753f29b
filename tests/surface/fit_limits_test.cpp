// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/fit_limits.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

ParameterEstimate estimate(const std::string& name, double value, double log_error) {
  ParameterEstimate made;
  made.name = name;
  made.value = value;
  made.log_error = log_error;
  return made;
}

SurfaceFit fit_with_laterals() {
  SurfaceFit fit;
  CorrelationFactor lateral;
  lateral.metric = Metric::same_lateral;
  fit.model.covariance.terms = {{"laterals", 3, {lateral}}};
  return fit;
}

TEST(FitAssurance, CountsFreedomFromTheErrorOfTheWholeVariance) {
  SurfaceFit fit = fit_with_laterals();
  // Variance of the sum: (3 x 0.5)^2 + (1 x 0.4)^2 = 2.41; freedom 2 x 4^2 / 2.41.
  fit.parameters = {estimate("laterals: variance", 3, 0.5), estimate("local: range", 50, 9),
                    estimate("nugget", 1, 0.4)};
  const FitAssurance assurance = assurance_of(fit);
  EXPECT_EQ(assurance.target, Target::surface);
  EXPECT_NEAR(assurance.freedom, 32 / 2.41, 1e-12);
}

TEST(FitAssurance, IsThatOfAPlainVarianceForAPlainSample) {
  // The logarithm of a variance from n - 1 degrees of freedom has the error root of 2 / (n - 1).
  SurfaceFit fit;
  fit.parameters = {estimate("nugget", 0.3, std::sqrt(2.0 / 19))};
  EXPECT_NEAR(assurance_of(fit).freedom, 19, 1e-12);
}

TEST(FitAssurance, IsOfOneEmitterWhereNeighboursShareNothing) {
  SurfaceFit fit;
  fit.parameters = {estimate("nugget", 1, 0.3)};
  EXPECT_EQ(assurance_of(fit).target, Target::emitter);
}

TEST(FitAssurance, HoldsBackWhereTheLikelihoodIsFlat) {
  SurfaceFit fit = fit_with_laterals();
  fit.parameters = {estimate("laterals: variance", 3, std::numeric_limits<double>::quiet_NaN()),
                    estimate("nugget", 1, 0.1)};
  EXPECT_EQ(assurance_of(fit).freedom, 4);
  fit.parameters[0].value = 0.1;
  EXPECT_NEAR(assurance_of(fit).freedom, 2 * 1.21 / (0.04 + 0.01), 1e-9);
}

TEST(FitAssurance, HasNoBoundWhereAllWasKnown) {
  EXPECT_EQ(assurance_of(fit_with_laterals()).freedom, infinity);
}

TEST(StudentLimits, TakeStudentsTable) {
  // 95 % points of Student's t: 2.132 for 4, 1.812 for 10 degrees of freedom (any table).
  const PredictionLimits four = student_limits({1, 0.04}, 0.90, 4);
  EXPECT_NEAR(four.upper, 1 + 0.2 * 2.132, 1e-4);
  EXPECT_NEAR(four.lower, 1 - 0.2 * 2.132, 1e-4);
  EXPECT_NEAR(student_limits({1, 0.04}, 0.90, 10).upper, 1 + 0.2 * 1.812, 1e-4);
  const PredictionLimits known = student_limits({1, 0.04}, 0.90, infinity);
  EXPECT_EQ(known.upper, normal_limits({1, 0.04}, 0.90).upper);
  EXPECT_TRUE(std::isnan(student_limits({1, std::nan("")}, 0.90, 10).upper));
}

TEST(StudentLimits, AgreeWithTheProbabilityBelowThem) {
  const Prediction prediction{0.9, 0.01};
  for (const double freedom : {4.0, 12.5, infinity}) {
    const PredictionLimits limits = student_limits(prediction, 0.90, freedom);
    EXPECT_NEAR(student_probability_below(prediction, limits.lower, freedom), 0.05, 1e-12);
    EXPECT_NEAR(student_probability_below(prediction, limits.upper, freedom), 0.95, 1e-12);
  }
  EXPECT_EQ(student_probability_below({0.9, 0}, 0.95, 5), 1);
  EXPECT_TRUE(std::isnan(student_probability_below({std::nan(""), 0.1}, 0.95, 5)));
}

TEST(StudentLimits, RefuseFreedomOfNothing) {
  EXPECT_THROW(student_limits({1, 1}, 0.9, 0), std::invalid_argument);
  EXPECT_THROW(student_limits({1, 1}, 1.0, 5), std::invalid_argument);
  EXPECT_THROW(student_probability_below({1, 1}, 0.9, -1), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
