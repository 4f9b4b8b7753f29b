// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/season_checks.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

namespace evendrip {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;

TEST(SeasonChecks, NameFilterMeterFlushingAndTheRecordAtTheStart) {
  const auto list = season_start_checks();
  for (const char* word : {"filters", "meter", "Flush mains", "--commission", "backflow"}) {
    EXPECT_THAT(list, Contains(HasSubstr(word))) << word;
  }
}

TEST(SeasonChecks, NameFlushingAndDrainingAtTheEnd) {
  const auto list = season_end_checks();
  for (const char* word : {"Flush mains", "Drain", "meter"}) {
    EXPECT_THAT(list, Contains(HasSubstr(word))) << word;
  }
}

TEST(SeasonChecks, WarnOfPowerPressureDiggingAndChemicals) {
  EXPECT_THAT(season_start_checks(), Contains(HasSubstr("licensed")));
  EXPECT_THAT(season_start_checks(), Contains(HasSubstr("Stand aside")));
  EXPECT_THAT(season_end_checks(), Contains(HasSubstr("buried utilities")));
  EXPECT_THAT(season_end_checks(), Contains(HasSubstr("never both")));
  EXPECT_THAT(season_end_checks(), Contains(HasSubstr("Lock the power off")));
}

TEST(SeasonChecks, SayNothingTwice) {
  auto all = season_start_checks();
  const auto end = season_end_checks();
  all.insert(all.end(), end.begin(), end.end());
  EXPECT_EQ(std::set<std::string>(all.begin(), all.end()).size(), all.size());
}

}  // namespace
}  // namespace evendrip
