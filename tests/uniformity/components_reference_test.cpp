// SPDX-License-Identifier: Apache-2.0
// Variance components and trends against R nlme's lme (restricted maximum likelihood), run at test
// time on public data sets of that package (Pinheiro & Bates 2000) and on drawn samples.
#include "evendrip/uniformity/components.hpp"

#include "nlme_oracle.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <map>
#include <string>
#include <vector>

namespace evendrip {
namespace {

std::vector<GroupedValue> sample_of(const Columns& columns) {
  std::vector<GroupedValue> sample;
  for (std::size_t i = 0; i < columns.at("y").size(); ++i) {
    sample.push_back({columns.at("y")[i], static_cast<int>(columns.at("lateral")[i]),
                      static_cast<int>(columns.at("pit")[i]), columns.at("x")[i]});
  }
  return sample;
}

class ComponentsReference : public testing::TestWithParam<std::string> {
 protected:
  void SetUp() override {
    const auto folder = nlme_tables();
    if (!folder) GTEST_SKIP() << "needs R with nlme";
    sample_ = sample_of(read_columns(*folder / (GetParam() + ".csv")));
    for (const auto& [name, column] : read_columns(*folder / (GetParam() + "_fit.csv"))) {
      ASSERT_EQ(column.size(), 1U) << "R wrote no fit of " << GetParam();
      fit_[name] = column[0];
    }
    ASSERT_FALSE(sample_.empty());
  }
  std::vector<GroupedValue> sample_;
  std::map<std::string, double> fit_;
};

void expect_component(const VarianceComponent& component, double variance, double error) {
  EXPECT_NEAR(component.variance, variance, 1e-4 * variance);
  ASSERT_TRUE(component.standard_error.has_value());
  // R differentiates numerically; the two agree far better than a survey needs.
  EXPECT_NEAR(*component.standard_error, error, 2e-3 * error);
}

using ComponentsByMean = ComponentsReference;
TEST_P(ComponentsByMean, AgreeWithNlme) {
  const VarianceComponents ours = variance_components(sample_);
  ASSERT_TRUE(ours.computed) << ours.why_not;
  expect_component(ours.between_laterals, fit_["lateral"], fit_["lateral_se"]);
  expect_component(ours.within, fit_["within"], fit_["within_se"]);
  ASSERT_EQ(ours.between_pits.has_value(), fit_["pit"] > 0);
  if (ours.between_pits) expect_component(*ours.between_pits, fit_["pit"], fit_["pit_se"]);
  EXPECT_NEAR(ours.mean, fit_["intercept"], 1e-6);
  EXPECT_NEAR(ours.mean_standard_error, fit_["intercept_se"], 1e-4 * fit_["intercept_se"]);
  EXPECT_NEAR(ours.restricted_log_likelihood, fit_["log_likelihood"], 1e-6);
}
INSTANTIATE_TEST_SUITE_P(Nlme, ComponentsByMean,
                         testing::Values("rail", "rail_uneven", "machines", "emitters"));

using TrendByLine = ComponentsReference;
TEST_P(TrendByLine, AgreesWithNlme) {
  const Trend ours = trend_along(sample_);
  ASSERT_TRUE(ours.computed) << ours.why_not;
  EXPECT_NEAR(ours.slope, fit_["value"], 1e-5 * fit_["se"]);
  EXPECT_NEAR(ours.standard_error, fit_["se"], 1e-5 * fit_["se"]);
  EXPECT_EQ(ours.degrees_of_freedom, fit_["df"]);
  EXPECT_NEAR(ours.t, fit_["t"], 1e-5 * std::abs(fit_["t"]));
  EXPECT_NEAR(ours.p_two_sided, fit_["p"], 1e-3 * fit_["p"]);
  EXPECT_NEAR(ours.intercept, fit_["intercept"], 1e-5);
  EXPECT_NEAR(ours.intercept_standard_error, fit_["intercept_se"], 1e-4 * fit_["intercept_se"]);
  EXPECT_NEAR(ours.between_laterals_variance, fit_["lateral"], 1e-4 * fit_["lateral"]);
  EXPECT_NEAR(ours.within_variance, fit_["within"], 1e-4 * fit_["within"]);
}
INSTANTIATE_TEST_SUITE_P(Nlme, TrendByLine,
                         testing::Values("oats", "pixel", "orthodont", "emitters_line",
                                         "scattered"));

}  // namespace
}  // namespace evendrip
