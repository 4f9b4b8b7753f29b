// SPDX-License-Identifier: Apache-2.0
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

#include "made_crop.hpp"

namespace evendrip {
namespace {

using test::made_crop;
using test::small_field;
using testing::HasSubstr;
using testing::Not;

TEST(CropText, TellsEachPartOfALogInProse) {
  const std::string text = crop_text(made_crop(small_field("crop_text")));
  for (const char* part :
       {"Small Field, what the crop says", "Yield, 2025-yield of 2025-09-30", "90 records.",
        "Opposite passes agree best at 12 s.", "10 of 90 records are kept (11 %), none is deleted",
        "differ by 6.1 % as logged and by 1.2 % as cleaned", "A record spans 3 laterals",
        "Both ends yield 10 % less.", "Stripes of 12 m", "elevation 12 %, broad trend 21 %",
        "varies by 7 %", "more would be explained (elevation 3 %)",
        "zone Z1: the crop falls by 15 %",
        "Against 2 dug emitters of survey 2026: Crop goes with discharge",
        "1. Zone Z1 (follows laterals). Two laterals are low",
        "3. Zone Z1, laterals Z1-09 to Z1-10,", "from 20 m to the far end (ignores laterals)",
        "Canopy temperature, warm", "Nothing could be fitted."}) {
    std::string unwrapped;
    std::istringstream words(text);
    for (std::string word; words >> word;) unwrapped += word + " ";
    EXPECT_THAT(unwrapped, HasSubstr(part));
  }
}

TEST(CropText, TellsStepsThatTookNothingTogetherAndTheTravelTimeOnce) {
  HeardCrop heard = made_crop(small_field("crop_text_steps"));
  CleanedLog& cleaned = heard.layers.front().harvest->cleaned;
  cleaned.travel_time.why = "the curve is flat";
  cleaned.steps = {{SetAside::no_value, 0, "No record was set aside. the curve is flat", ""},
                   {SetAside::speed, 0, "No record was set aside: none", ""},
                   {SetAside::same_spot, 0, "Not done: no times", ""}};
  const std::string text = crop_text(heard);
  EXPECT_THAT(text, HasSubstr("nothing to set aside for: no value, speed."));
  EXPECT_THAT(text, HasSubstr("same spot: Not done: no times."));
  EXPECT_THAT(text, HasSubstr("Travel time The curve is flat."));
  cleaned.steps.front().records = 1;
  EXPECT_THAT(crop_text(heard), Not(HasSubstr("Travel time")));
}

TEST(CropText, KeepsToTheWidthOfAPage) {
  std::istringstream lines(crop_text(made_crop(small_field("crop_text_width"))));
  for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 96U) << line;
}

TEST(CropText, NeverSaysThatAnEmitterIsClogged) {
  const std::string text = crop_text(made_crop(small_field("crop_text_clogged")));
  EXPECT_THAT(text, HasSubstr("never says that an emitter is clogged"));
  EXPECT_THAT(text, HasSubstr("Local codes and licensed practice come first."));
  const std::size_t first = text.find("clogged");
  EXPECT_EQ(text.find("clogged", first + 1), std::string::npos);
}

TEST(CropText, SpeaksInTheReportUnitsOfTheField) {
  HeardCrop heard = made_crop(small_field("crop_text_us"));
  heard.field.report_units = UnitSystem::us;
  const std::string text = crop_text(heard);
  EXPECT_THAT(text, HasSubstr("65.6 ft to the far end"));  // 20 m
  EXPECT_THAT(text, HasSubstr("lb/ac"));
}

TEST(CropText, SaysWhyTheCropIsNotSetBesideDischarge) {
  HeardCrop heard = made_crop(small_field("crop_text_alone"));
  heard.discharge.reset();
  heard.layers.front().association.reset();
  heard.why_no_discharge = "no survey has catch cans";
  EXPECT_THAT(crop_text(heard),
              HasSubstr("Not compared with discharge: No survey has catch cans."));
}

}  // namespace
}  // namespace evendrip
