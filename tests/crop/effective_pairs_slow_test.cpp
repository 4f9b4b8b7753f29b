// SPDX-License-Identifier: Apache-2.0
// The size of the modified t test: at a level of 5 %, how often two fields that have nothing to do
// with each other are said to go together. 2,000 pairs of fields of each kind at 20 sets of places;
// limits are those of a binomial share of 5 % at 99.9 %.
#include "evendrip/crop/association.hpp"

#include "drawn_pairs.hpp"
#include "drawn_places.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

namespace evendrip {
namespace {

struct Kind {
  std::string name;
  drawn::FieldPair pair;
  bool alike = true;  ///< neighbours are, in both fields
};

class SizeOfTheModifiedTTest : public testing::TestWithParam<Kind> {};

TEST_P(SizeOfTheModifiedTTest, IsItsLevel) {
  const drawn::Alarms alarms = drawn::alarms_of(GetParam().pair, 20, 100, 9000);
  ASSERT_EQ(alarms.trials, 2000);
  const double share = alarms.modified / 2000.0;
  const double plain = alarms.plain / 2000.0;
  RecordProperty("modified_pct", std::to_string(100 * share));
  RecordProperty("plain_pct", std::to_string(100 * plain));
  EXPECT_NEAR(share, 0.05, 3.29 * 0.00487);
  if (GetParam().alike) {
    EXPECT_GT(plain, 0.05 + 3.29 * 0.00487);
  } else {
    EXPECT_NEAR(plain, 0.05, 3.29 * 0.00487);
  }
}

INSTANTIATE_TEST_SUITE_P(Fields, SizeOfTheModifiedTTest,
                         testing::Values(Kind{"noise_60", {0, 0, 0, 60}, false},
                                         Kind{"noise_100", {0, 0, 0, 100}, false},
                                         Kind{"short_60", {8, 8, 0, 60}},
                                         Kind{"short_100", {8, 8, 0, 100}},
                                         Kind{"long_60", {30, 30, 0, 60}},
                                         Kind{"long_100", {30, 30, 0, 100}},
                                         Kind{"long_with_nugget_100", {30, 30, 0.3, 100}},
                                         Kind{"short_and_long_100", {8, 30, 0, 100}},
                                         Kind{"noise_and_long_100", {0, 30, 0, 100}, false}),
                         [](const auto& instance) { return instance.param.name; });

TEST(ModifiedTTestOfMany, TakesNoMorePairsThanItSays) {
  constexpr std::size_t count = most_tested_pairs + 3000;
  const std::vector<Point> places = drawn::places(count, 1000, 1000, 81);
  const std::vector<double> x = drawn::noise(count, 82);
  std::vector<double> y = drawn::noise(count, 83);
  for (std::size_t i = 0; i < count; ++i) y[i] += x[i];  // correlation 1 / sqrt(2)
  const ModifiedTTest test = modified_t_test(places, x, y);
  EXPECT_EQ(test.pairs, static_cast<int>(most_tested_pairs));
  EXPECT_NEAR(test.correlation, std::sqrt(0.5), 0.03);  // four standard errors
  EXPECT_NEAR(test.effective_pairs, static_cast<double>(most_tested_pairs), 500);
}

}  // namespace
}  // namespace evendrip
