// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/median.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>

namespace evendrip {
namespace {

TEST(Median, OfAnOddNumberIsTheMiddleOne) {
  EXPECT_EQ(median_of({7}), 7);
  EXPECT_EQ(median_of({9, -1, 4}), 4);
  EXPECT_EQ(median_of({5, 1, 4, 2, 3}), 3);
}

TEST(Median, OfAnEvenNumberIsTheMeanOfTheMiddleTwo) {
  EXPECT_EQ(median_of({8, 2}), 5);
  EXPECT_EQ(median_of({100, 1, 3, 2}), 2.5);
  EXPECT_EQ(median_of({4, 4, 1, 4}), 4);
}

TEST(Median, OfNothingIsZero) {
  EXPECT_EQ(median_of({}), 0);
}

TEST(Median, InPlaceKeepsTheValuesInSomeOrder) {
  std::array<double, 6> values{6, 1, 5, 2, 4, 3};
  EXPECT_EQ(median_in_place(values), 3.5);
  EXPECT_THAT(values, testing::UnorderedElementsAre(1, 2, 3, 4, 5, 6));
}

}  // namespace
}  // namespace evendrip
