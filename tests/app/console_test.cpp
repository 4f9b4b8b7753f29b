// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/console.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

// Standard error is captured into a file, so it is no terminal.
TEST(Console, DrawsNoBarWhereStandardErrorIsNoTerminal) {
  testing::internal::CaptureStderr();
  Console console(Console::Loudness::normal);
  console.stage("Mapping");
  EXPECT_FALSE(console.with_progress({}).progress);
  console.finish();
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
}

TEST(Console, TellsEachKindOfDoubtOnceWithItsNumber) {
  testing::internal::CaptureStderr();
  Console console(Console::Loudness::normal);
  console.tell({{"far", Severity::doubt, {"a.csv", "", 3, ""}, "too far", "", "", ""},
                {"far", Severity::doubt, {"a.csv", "", 9, ""}, "too far", "", "", ""}});
  EXPECT_EQ(testing::internal::GetCapturedStderr(),
            "doubt: a.csv, row 3: too far (and 1 more like it)\n");
}

TEST(Console, KeepsDoubtsToItselfWhenQuiet) {
  testing::internal::CaptureStderr();
  Console console(Console::Loudness::quiet);
  console.tell({{"far", Severity::doubt, {}, "too far", "", "", ""}});
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
}

}  // namespace
}  // namespace evendrip
