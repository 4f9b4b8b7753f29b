// SPDX-License-Identifier: Apache-2.0
// Bootstrap limits against R boot on the same samples, 20,000 draws each. Draws are by other random
// numbers: limits are compared by a share of their width.
#include "evendrip/uniformity/limits.hpp"

#include <gtest/gtest.h>

#include <stdexcept>
#include <string>

#include "boot_oracle.hpp"

namespace evendrip {
namespace {

constexpr const char* samples[] = {"times", "plots", "made", "skewed"};

/// Every emitter on a lateral of its own: R knows no laterals.
UniformityLimits limits_of_column(const std::filesystem::path& folder, const std::string& name) {
  EmitterSample sample;
  int lateral = 0;
  const Columns columns = read_columns(folder / (name + ".csv"));
  for (const double q : columns.at("q")) {
    SampledEmitter e;
    e.discharge_lph = q;
    e.lateral = lateral++;
    sample.emitters.push_back(e);
  }
  LimitOptions options;
  options.draws = 20'000;
  return confidence_limits(sample, options);
}

const Limits& beside(const MeasureLimits& measure, LimitMethod method) {
  for (const Limits& l : measure.beside) {
    if (l.method == method) return l;
  }
  throw std::runtime_error("no such limits: " + to_text(method));
}

void expect_near(const Limits& ours, double lower, double upper, double width_share) {
  const double width = upper - lower;
  EXPECT_NEAR(ours.lower, lower, width_share * width);
  EXPECT_NEAR(ours.upper, upper, width_share * width);
}

class LimitsReference : public ::testing::TestWithParam<const char*> {
 protected:
  void SetUp() override {
    const auto found = boot_tables();
    if (!found) GTEST_SKIP() << "R or its package boot is missing";
    ASSERT_FALSE(found->empty()) << "R failed";
    folder = *found;
  }
  std::filesystem::path folder;
};

TEST_P(LimitsReference, PlainBootstrapsAgreeWithRBoot) {
  const UniformityLimits ours = limits_of_column(folder, GetParam());
  const Columns r = read_columns(folder / (std::string(GetParam()) + "_plain.csv"));
  for (std::size_t m = 0; m < all_measures.size(); ++m) {
    SCOPED_TRACE(to_text(all_measures[m]));
    expect_near(beside(ours.measures[m], LimitMethod::percentile), r.at("lower")[m],
                r.at("upper")[m], 0.03);
    expect_near(beside(ours.measures[m], LimitMethod::bca), r.at("bca_lower")[m],
                r.at("bca_upper")[m], 0.05);
  }
}

TEST_P(LimitsReference, StudentisedBootstrapAgreesWithRBoot) {
  const UniformityLimits ours = limits_of_column(folder, GetParam());
  const Columns r = read_columns(folder / (std::string(GetParam()) + "_studentised.csv"));
  expect_near(ours.of(Measure::mean).running, r.at("lower")[0], r.at("upper")[0], 0.04);
  expect_near(ours.of(Measure::low_quarter).running, r.at("lower")[1], r.at("upper")[1], 0.06);
}

INSTANTIATE_TEST_SUITE_P(Samples, LimitsReference, ::testing::ValuesIn(samples),
                         [](const auto& sample) { return std::string(sample.param); });

}  // namespace
}  // namespace evendrip
