// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/story.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

Doubt doubt_of(const char* code, const char* file, std::size_t row) {
  return {code, Severity::doubt, {file, "", row, ""}, "odd", "", "", ""};
}

TEST(Summarised, KeepsTheFirstPlaceOfEachKindInEachFile) {
  const Doubts told = summarised({doubt_of("far", "a.csv", 3), doubt_of("near", "a.csv", 4),
                                  doubt_of("far", "a.csv", 5), doubt_of("far", "b.csv", 6),
                                  doubt_of("far", "a.csv", 7)});
  ASSERT_EQ(told.size(), 3U);
  EXPECT_EQ(told[0].place.row, 3U);
  EXPECT_EQ(told[0].text, "odd (and 2 more like it)");
  EXPECT_EQ(told[1].text, "odd");
  EXPECT_EQ(told[2].place.file, "b.csv");
}

TEST(Summarised, KeepsAsManyOfAKindAsAskedAndCountsTheRest) {
  Doubts many;
  for (std::size_t row = 1; row <= 9; ++row) {
    many.push_back(doubt_of("far", "a.csv", row));
    many.push_back(doubt_of("near", "a.csv", row));
  }
  many.resize(11);  // six of the one, five of the other
  const Doubts told = summarised(many, 5);
  ASSERT_EQ(told.size(), 10U);
  EXPECT_EQ(told[8].place.row, 5U);
  EXPECT_EQ(told[8].text, "odd (and 1 more like it)");
  EXPECT_EQ(told[9].text, "odd");
}

TEST(Summarised, NeverMergesAProblemWithADoubt) {
  Doubt problem = doubt_of("far", "a.csv", 9);
  problem.severity = Severity::problem;
  EXPECT_EQ(summarised({doubt_of("far", "a.csv", 3), problem}).size(), 2U);
}

}  // namespace
}  // namespace evendrip
