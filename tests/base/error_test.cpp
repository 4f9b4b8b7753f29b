// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/error.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(DoubtText, NamesPlaceValueExpectationAndRemedy) {
  const Doubt doubt{"bad_number",      Severity::problem, {"cans.csv", "", 12, "volume_ml"},
                    "not a number",    "a lot",           "a number of 0 or more",
                    "Correct the cell"};
  EXPECT_EQ(
      to_text(doubt),
      "cans.csv, row 12, column volume_ml: not a number (found \"a lot\", expected a number of "
      "0 or more). Correct the cell");
}

TEST(ThrowIfProblem, KeepsEveryProblemAndDropsDoubts) {
  const Doubts doubts{{"a", Severity::doubt, {}, "only a doubt", "", "", ""},
                      {"b", Severity::problem, {}, "first", "", "", ""},
                      {"c", Severity::problem, {}, "second", "", "", ""}};
  try {
    throw_if_problem(doubts);
    FAIL() << "nothing was thrown";
  } catch (const InputError& error) {
    EXPECT_EQ(error.exit_code(), ExitCode::input);
    ASSERT_EQ(error.problems().size(), 2U);
    EXPECT_EQ(error.problems()[1].code, "c");
    EXPECT_STREQ(error.what(), "first\nsecond");
  }
}

TEST(ThrowIfProblem, LetsDoubtsPass) {
  EXPECT_NO_THROW(throw_if_problem({{"a", Severity::doubt, {}, "", "", "", ""}}));
}

}  // namespace
}  // namespace evendrip
