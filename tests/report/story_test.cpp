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

TEST(Summarised, NeverMergesAProblemWithADoubt) {
  Doubt problem = doubt_of("far", "a.csv", 9);
  problem.severity = Severity::problem;
  EXPECT_EQ(summarised({doubt_of("far", "a.csv", 3), problem}).size(), 2U);
}

}  // namespace
}  // namespace evendrip
