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
  for (std::size_t row = 0; row < a.rows(); ++row)
    for (std::size_t column = 0; column < a.headings.size(); ++column) {
      const std::string ours = a.cell(row, column);
      const std::string theirs = b.cell(row, column);
      if (ours == theirs) continue;
      const std::size_t point = ours.find('.');
      const auto digits = point == std::string::npos ? 0 : ours.size() - point - 1;
      ASSERT_NEAR(std::atof(ours.c_str()), std::atof(theirs.c_str()),
                  2.1 * std::pow(10.0, -static_cast<double>(digits)))
          << a.file << ", row " << row + 2 << ": " << ours << " and " << theirs;
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

/// Mean of a column of the truth over laterals `first` to `last` of a zone and a stretch of them.
struct Part {
  const char* zone;
  int first;
  int last;
  double from_m;
  double to_m;
};
class Truth {
 public:
  explicit Truth(const char* sample)
      : table_(read_csv(std::filesystem::path(EVENDRIP_TEST_DATA).parent_path() / "sample_fields" /
                            sample / "truth" / "emitters.csv",
                        "truth/emitters.csv")) {}
  double mean(const Part& part, const char* heading) const {
    const auto lateral = static_cast<std::size_t>(table_.column("lateral"));
    const auto station = static_cast<std::size_t>(table_.column("station_m"));
    const auto column = static_cast<std::size_t>(table_.column(heading));
    double sum = 0;
    int n = 0;
    for (std::size_t row = 0; row < table_.rows(); ++row) {
      const std::string id = table_.cell(row, lateral);
      const int number = std::atoi(id.substr(id.find('-') + 1).c_str());
      const double station_m = std::atof(table_.cell(row, station).c_str());
      if (id.substr(0, id.find('-')) != part.zone || number < part.first || number > part.last ||
          station_m < part.from_m || station_m > part.to_m) {
        continue;
      }
      sum += std::atof(table_.cell(row, column).c_str());
      ++n;
    }
    EXPECT_GT(n, 100);
    return sum / n;
  }

 private:
  Table table_;
};

// Means of performance and delivery in clean parts: 1 less the plugged share, within about four
// standard errors.

TEST(HeronFlat, LinesArePinchedAndNotCloggedInOneZoneAndFarEndsCloggedInTheOther) {
  const Truth truth("heron_flat");
  const Part starved{"Z1", 20, 26, 36, 150};
  EXPECT_NEAR(truth.mean(starved, "delivery_frac"), 0.62, 0.04);
  EXPECT_NEAR(truth.mean(starved, "performance_frac"), 0.975, 0.02);
  EXPECT_NEAR(truth.mean({"Z1", 1, 19, 0, 150}, "delivery_frac"), 0.975, 0.02);
  const Part clogged{"Z2", 9, 21, 130, 150};
  EXPECT_NEAR(truth.mean(clogged, "performance_frac"), 0.5 * 0.975, 0.03);
  EXPECT_NEAR(truth.mean({"Z2", 22, 36, 0, 150}, "delivery_frac"), 0.975, 0.02);
  const double near_kpa = truth.mean({"Z1", 1, 19, 0, 5}, "pressure_kpa");
  const double far_kpa = truth.mean({"Z1", 1, 19, 145, 150}, "pressure_kpa");
  EXPECT_GT(near_kpa - far_kpa, 3) << "a line of 150 m loses some of its pressure";
  EXPECT_LT(near_kpa - far_kpa, 15);
}

TEST(CottonwoodDraw, LinesAreStarvedInOneZoneAndCloggedInTheOther) {
  const Truth truth("cottonwood_draw");
  const Part starved{"Z1", 4, 8, 50, 147};
  EXPECT_NEAR(truth.mean(starved, "delivery_frac"), 0.6, 0.05);
  EXPECT_NEAR(truth.mean(starved, "performance_frac"), 0.96, 0.02);
  EXPECT_NEAR(truth.mean({"Z2", 10, 19, 122, 147}, "performance_frac"), 0.5 * 0.96, 0.03);
  EXPECT_NEAR(truth.mean({"Z2", 1, 9, 0, 147}, "delivery_frac"), 0.96, 0.02);
}

TEST(WattleBend, LinesAreCloggedFromTheirFirstThirdOn) {
  const Truth truth("wattle_bend");
  EXPECT_NEAR(truth.mean({"Z2", 9, 15, 61, 120}, "performance_frac"), 0.55 * 0.98, 0.03);
  EXPECT_NEAR(truth.mean({"Z2", 9, 15, 0, 44}, "performance_frac"), 0.98, 0.02);
  EXPECT_NEAR(truth.mean({"Z1", 1, 24, 0, 120}, "delivery_frac"), 0.98, 0.02);
}

INSTANTIATE_TEST_SUITE_P(All, SampleField,
                         ::testing::Values("heron_flat", "cottonwood_draw", "wattle_bend"),
                         [](const auto& sample) { return std::string(sample.param); });

}  // namespace
}  // namespace evendrip
