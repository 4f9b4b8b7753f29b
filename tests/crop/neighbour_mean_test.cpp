// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/neighbour_mean.hpp"

#include "ordered_series.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

namespace evendrip {
namespace {

using invented::Likeness;
using invented::promise_kept;
using testing::ElementsAre;
using testing::IsEmpty;

constexpr double none = std::numeric_limits<double>::quiet_NaN();

TEST(MeanOfNeighbours, HasLimitsThatHoldTheTruthAboutAsOftenAsTheySay) {
  // Nominal 90 %; 300 trials have a standard error of 1.7 %.
  for (const double likeness : {0.0, 0.5, 0.8}) {
    const auto kept = promise_kept(Likeness{likeness, 1}, 40, {}, 0, 300);
    EXPECT_GT(kept.held, 0.85) << likeness;
    EXPECT_LT(kept.held, 0.985) << likeness;
  }
}

TEST(MeanOfNeighbours, HasNarrowLimitsInSpiteOfAFewBadValues) {
  const auto clean = promise_kept(Likeness{0.5, 1}, 36, {}, 0, 300);
  const auto single = promise_kept(Likeness{0.5, 1}, 36, {5, 14, 22, 31}, 8, 300);
  const auto beside = promise_kept(Likeness{0.5, 1}, 36, {14, 15, 16, 17, 18, 19}, 8, 300);
  for (const auto& kept : {single, beside}) {
    EXPECT_GT(kept.held, 0.85);
    EXPECT_LT(kept.median_width, 1.3 * clean.median_width);
  }
}

TEST(MeanOfNeighbours, CountsAlikeNeighboursForLess) {
  std::vector<double> alternating;
  std::vector<double> blocks;
  for (int i = 0; i < 40; ++i) {
    alternating.push_back(i % 2);
    blocks.push_back(i / 10 % 2);
  }
  EXPECT_GT(mean_of_neighbours(alternating).effective, 35);
  EXPECT_LT(mean_of_neighbours(blocks).effective, 8);
}

TEST(MeanOfNeighbours, AgreesWithStudentWhereNothingIsAlike) {
  // 400 values that alternate have no likeness; t for 399 degrees at 95 % is 1.649 (tables).
  std::vector<double> values;
  for (int i = 0; i < 400; ++i) values.push_back(i % 2 == 0 ? 1 : 3);
  const OrderedMean mean = mean_of_neighbours(values);
  EXPECT_NEAR(mean.mean, 2, 1e-6);
  const double error = std::sqrt(400.0 / 399) / std::sqrt(400.0);
  EXPECT_NEAR(mean.upper_90 - mean.mean, 1.649 * error, 0.03 * error);
  EXPECT_NEAR(mean.mean - mean.lower_90, 1.649 * error, 0.03 * error);
}

TEST(MeanOfNeighbours, SetsOddOnesAsideWithTheirFlanks) {
  std::vector<double> values;
  for (int i = 0; i < 30; ++i) values.push_back(0.1 + 0.01 * std::sin(2.4 * i));
  for (const int i : {11, 12, 13}) values[static_cast<std::size_t>(i)] = 0.5;
  values[10] = 0.14;  // a blurred flank
  const OrderedMean mean = mean_of_neighbours(values);
  EXPECT_THAT(mean.odd, ElementsAre(10, 11, 12, 13));
  EXPECT_NEAR(mean.mean, 0.1, 0.002);
}

TEST(MeanOfNeighbours, SetsNobodyAsideWhereNoneAreMost) {
  std::vector<double> halves;
  for (int i = 0; i < 30; ++i) halves.push_back((i < 14 ? 0 : 0.5) + 0.01 * std::sin(2.4 * i));
  EXPECT_THAT(mean_of_neighbours(halves).odd, IsEmpty());
}

TEST(MeanOfNeighbours, PassesOverGaps) {
  const std::vector<double> whole{0.1, 0.2, 0.15, 0.12, 0.18, 0.16};
  const std::vector<double> edges{none, 0.1, 0.2, 0.15, 0.12, 0.18, 0.16, none};
  EXPECT_NEAR(mean_of_neighbours(whole).upper_90, mean_of_neighbours(edges).upper_90, 1e-9);
  const std::vector<double> gap{0.1, 0.2, none, 0.15, 0.12, none, 0.18, 0.16};
  EXPECT_NEAR(mean_of_neighbours(gap).mean, mean_of_neighbours(whole).mean, 0.01);
  EXPECT_TRUE(mean_of_neighbours(gap).known);
}

TEST(MeanOfNeighbours, OfTooFewHasNoLimits) {
  EXPECT_FALSE(mean_of_neighbours(std::vector<double>{1.0, 2.0, 1.0}).known);
  EXPECT_TRUE(mean_of_neighbours(std::vector<double>{1.0, 2.0, 1.0, 2.0}).known);
  EXPECT_FALSE(mean_of_neighbours(std::vector<double>{}).known);
  const OrderedMean same = mean_of_neighbours(std::vector<double>{2, 2, 2, 2, 2});
  EXPECT_TRUE(same.known);
  EXPECT_EQ(same.lower_90, 2);
  EXPECT_EQ(same.upper_90, 2);
}

}  // namespace
}  // namespace evendrip
