// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/screening_text.hpp"

#include "made_crop.hpp"
#include "small_screening.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>
#include <sstream>

namespace evendrip {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::size_t longest_line(const std::string& text) {
  std::istringstream lines(text);
  std::size_t longest = 0;
  for (std::string line; std::getline(lines, line);) longest = std::max(longest, line.size());
  return longest;
}

/// Words alone: where lines break does not matter.
std::string unwrapped(const std::string& text) {
  std::istringstream words(text);
  std::string out;
  for (std::string word; words >> word;) out += (out.empty() ? "" : " ") + word;
  return out;
}

TEST(ScreeningText, NamesEveryZoneWithVerdictEvidenceAndWhatToCheck) {
  const ScreeningStory story = test::small_screening("screening_text");
  const std::string text = screening_text(story);
  const std::string words = unwrapped(text);
  for (const ScreenedZone& zone : story.screening.zones) {
    EXPECT_THAT(words, HasSubstr(unwrapped(zone.verdict)));
    EXPECT_THAT(words, HasSubstr(unwrapped(zone.check_first)));
    for (const Change& change : zone.changes) {
      EXPECT_THAT(words, HasSubstr(unwrapped(change.told)));
    }
  }
  EXPECT_THAT(
      words,
      HasSubstr("1. " +
                story.field.zones[static_cast<std::size_t>(story.screening.zones[0].zone)].id));
  EXPECT_LE(longest_line(text), 100U);
}

TEST(ScreeningText, TellsWhereEachCropLayerSaysToLookFirst) {
  ScreeningStory story = test::small_screening("screening_text_crop");
  EXPECT_THAT(screening_text(story), Not(HasSubstr("What the crop shows")));
  story.crops = test::made_crop(test::small_field("screening_text_heard")).layers;
  story.crops[0].screening.patches.back().at_field_limit = true;
  const std::string text = screening_text(story);
  EXPECT_LE(longest_line(text), 100U);
  const std::string words = unwrapped(text);
  EXPECT_THAT(words, HasSubstr("What the crop shows (it never says that an emitter is clogged)"));
  EXPECT_THAT(words, HasSubstr("Yield, 2025-yield of 2025-09-30 Look first"));
  EXPECT_THAT(words, HasSubstr("1. Zone Z1 (follows laterals). Two laterals are low"));
  EXPECT_THAT(words, HasSubstr("(shape not told: beside a limit of the field)."));
}

TEST(ScreeningText, TellsWhatItIsComparedWith) {
  ScreeningStory story = test::small_screening("screening_text_record");
  EXPECT_THAT(unwrapped(screening_text(story)), HasSubstr("There is no commissioning record"));
  story.commissioning = Commissioning{"2020-04-01", {}, {}};
  EXPECT_THAT(unwrapped(screening_text(story)),
              HasSubstr("Compared with commissioning.csv, the record of 2020-04-01."));
}

TEST(ScreeningText, PrintsBothListsOfTheSeasonAndWhatIsCommonPractice) {
  const std::string words = unwrapped(screening_text(test::small_screening("screening_lists")));
  for (const auto& list : {season_start_checks(), season_end_checks()}) {
    for (const std::string& line : list) EXPECT_THAT(words, HasSubstr("[ ] " + line));
  }
  EXPECT_THAT(words, HasSubstr("common practice"));
  EXPECT_THAT(words, HasSubstr("Local codes and licensed practice come first."));
}

TEST(ScreeningText, StandsInTheReportUnits) {
  ScreeningStory story = test::small_screening("screening_units");
  EXPECT_THAT(screening_text(story), HasSubstr(" m/s"));
  EXPECT_THAT(screening_text(story), Not(HasSubstr(" psi")));
  story.field.report_units = UnitSystem::us;
  EXPECT_THAT(unwrapped(screening_text(story)), HasSubstr(" psi"));
  EXPECT_THAT(unwrapped(screening_text(story)), HasSubstr(" ft/s"));
  EXPECT_THAT(unwrapped(screening_text(story)), HasSubstr(" gpm"));
}

TEST(ScreeningText, SaysWhetherTheSupplyCanDeliverTheFlush) {
  ScreeningStory story = test::small_screening("screening_flush");
  ASSERT_FALSE(story.design.empty());
  DesignCheck& check = story.design.front();
  check.flush = FlushCheck{};
  check.flush->inlet_pressure_kpa = 100;
  check.flush->lines_open = 9;
  check.flush->slowest_lateral = 0;
  check.flush->smallest_velocity_m_s = 0.2;
  check.flush->inflow_lph = 5000;
  check.flush->needed_inlet_kpa = 140;
  check.flush->lines_at_once = 4;
  story.field.zones[static_cast<std::size_t>(check.zone)].lateral.ends = LateralEnds::closed;
  story.field.zones[static_cast<std::size_t>(check.zone)].lateral.max_pressure_kpa = 150;
  story.design.resize(1);
  story.design[0].supply_lph = 4000;
  std::string words = unwrapped(screening_text(story));
  EXPECT_THAT(words, HasSubstr("Up to 4 neighbours reach the goal together."));
  EXPECT_THAT(words, HasSubstr("The goal needs 140 kPa at the inlet (the tape bears 150 kPa)."));
  EXPECT_THAT(words, HasSubstr("more than was ever metered in this survey (4 m3/h)"));
  story.design[0].supply_lph = 6000;
  story.design[0].flush->needed_inlet_kpa = std::numeric_limits<double>::quiet_NaN();
  story.design[0].flush->lines_at_once = 0;
  words = unwrapped(screening_text(story));
  EXPECT_THAT(words, HasSubstr("which the supply gave (6 m3/h metered)"));
  EXPECT_THAT(words, HasSubstr("more pressure than the tape bears"));
  EXPECT_THAT(words, HasSubstr("Not even one line alone"));
}

TEST(ScreeningText, SaysWhatIsNotComputedAndWhatWasWritten) {
  ScreeningStory story = test::small_screening("screening_missing");
  story.expectation.zones[0].computed = false;
  story.expectation.zones[0].why_not = "needs [layers] manifolds";
  story.written = record_of(story.field, story.survey);
  const std::string words = unwrapped(screening_text(story));
  EXPECT_THAT(words, HasSubstr("needs [layers] manifolds"));
  EXPECT_THAT(words, HasSubstr("Wrote "));
  EXPECT_THAT(words, HasSubstr("commissioning.csv"));
}

}  // namespace
}  // namespace evendrip
