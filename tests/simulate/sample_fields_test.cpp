// SPDX-License-Identifier: Apache-2.0
// The sample fields are what their own plans make, and are read without a problem.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "evendrip/field/field.hpp"
#include "evendrip/io/csv.hpp"
#include "evendrip/simulate/simulate.hpp"
#include "evendrip/survey/survey.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

class SampleField : public ::testing::TestWithParam<const char*> {
 protected:
  std::filesystem::path folder() const {
    return std::filesystem::path(EVENDRIP_TEST_DATA).parent_path() / "sample_fields" / GetParam();
  }
};

std::string told(const Doubts& doubts) {
  std::string text;
  for (const Doubt& doubt : doubts) text += to_text(doubt) + "\n";
  return text;
}

/// Cells alike, numbers to the last digit written: machines differ in the last bit of a logarithm.
void expect_alike(const Table& a, const Table& b) {
  ASSERT_EQ(a.headings, b.headings);
  ASSERT_EQ(a.rows(), b.rows());
  for (std::size_t i = 0; i < a.cells.size(); ++i) {
    if (a.cells[i] == b.cells[i]) continue;
    const std::size_t point = a.cells[i].find('.');
    const auto digits = point == std::string::npos ? 0 : a.cells[i].size() - point - 1;
    ASSERT_NEAR(std::atof(a.cells[i].c_str()), std::atof(b.cells[i].c_str()),
                2.1 * std::pow(10.0, -static_cast<double>(digits)))
        << a.file << ", row " << i / a.headings.size() + 2 << ": " << a.cells[i] << " and "
        << b.cells[i];
  }
}

TEST_P(SampleField, IsWhatItsPlanMakes) {
  const auto made = test::fresh_folder() / "made";
  simulate_field(read_plan(folder() / "plan.toml"), made);
  const auto committed = test::files_of(folder());
  for (const auto& [name, bytes] : test::files_of(made)) {
    ASSERT_TRUE(committed.contains(name)) << name;
    if (name.ends_with(".toml") || name.ends_with(".txt")) {
      EXPECT_EQ(bytes, committed.at(name));
    }
    if (name.ends_with(".csv")) {
      expect_alike(read_csv(made / name, name), read_csv(folder() / name, name));
    }
  }
}

TEST_P(SampleField, IsReadWithoutAProblem) {
  const Field field = read_field(folder());
  EXPECT_FALSE(has_problem(field.doubts)) << told(field.doubts);
  ASSERT_EQ(field.surveys.size(), 1U);
  const Survey survey = read_survey(field, "");
  EXPECT_FALSE(has_problem(survey.doubts)) << told(survey.doubts);
  EXPECT_GT(survey.emitters.size(), 80U);
  const auto placed = std::count_if(survey.emitters.begin(), survey.emitters.end(),
                                    [](const MeasuredEmitter& e) { return e.site.lateral >= 0; });
  EXPECT_GT(static_cast<double>(placed), 0.9 * static_cast<double>(survey.emitters.size()));
}

TEST_P(SampleField, SaysThatItIsSynthetic) {
  EXPECT_NE(test::bytes_of(folder() / "README.txt").find("SYNTHETIC"), std::string::npos);
}

INSTANTIATE_TEST_SUITE_P(All, SampleField,
                         ::testing::Values("heron_flat", "cottonwood_draw", "wattle_bend"),
                         [](const auto& sample) { return std::string(sample.param); });

}  // namespace
}  // namespace evendrip
