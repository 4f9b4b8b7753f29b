// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/dates.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(DayNumber, CountsFromTheBeginningOf1970) {
  EXPECT_EQ(day_number("1970-01-01"), 0);
  EXPECT_EQ(day_number("1969-12-31"), -1);
  EXPECT_EQ(day_number("2000-03-01"), 11017);  // POSIX: 951868800 s
}

TEST(DaysBetween, CountsOverMonthsAndLeapYears) {
  EXPECT_EQ(days_between("2024-02-28", "2024-03-01"), 2);
  EXPECT_EQ(days_between("2025-02-28", "2025-03-01"), 1);
  EXPECT_EQ(days_between("2026-05-12", "2025-05-12"), -365);
  EXPECT_EQ(days_between("2026-05-12", "2026-05-12"), 0);
}

TEST(DaysBetween, KnowsNothingOfWhatIsNoDate) {
  for (const char* wrong : {"", "2025", "2025-13-01", "2025-02-30", "2025-00-10", "spring 2025",
                            "2025/02/03", "2025-2-03 ", "2025-02-+3", "2025-02-03T08"}) {
    EXPECT_FALSE(days_between(wrong, "2026-05-12")) << wrong;
    EXPECT_FALSE(days_between("2026-05-12", wrong)) << wrong;
  }
}

}  // namespace
}  // namespace evendrip
