// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/crop_story.hpp"

#include "made_crop.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using test::made_crop;
using test::small_field;
using testing::HasSubstr;
using testing::Not;

std::string unwrapped(const std::string& text) {
  std::string out;
  std::istringstream words(text);
  for (std::string word; words >> word;) out += word + " ";
  return out;
}

const ResultLayer& named(const std::vector<ResultLayer>& layers, const std::string& name) {
  const auto found = std::find_if(layers.begin(), layers.end(),
                                  [&](const ResultLayer& layer) { return layer.name == name; });
  if (found == layers.end()) throw std::out_of_range(name);
  return *found;
}

TEST(CropOverDatesText, TellsDatesLowGroundAndHowSteadyItIs) {
  const std::string text = unwrapped(crop_text(made_crop(small_field("over_dates_text"))));
  for (const char* part :
       {"Yield over 3 seasons Seasons 2023 (a), 2024 (b), 2025 (2025-yield).",
        "Biomass over 3 dates of 2025 Dates 2025-06-01 (a), 2025-06-21 (b), 2025-07-31 (c).",
        "Of the ground seen on every date, 10 % is below 90 % of the median on all 3, 30 % on at "
        "least 2 of 3, 50 % on none.",
        "60 % of the variation over the field is the same on every date",
        "half of the places change by less than 4 % of the median from date to date",
        "steady, not therefore dry", "stands at 97 % of the median and is low on 1 of 3 dates.",
        "low on 2 of 3 dates, at 85 % of the median."}) {
    EXPECT_THAT(text, HasSubstr(part));
  }
}

TEST(CropOverDatesText, JoinsLateralsSideBySideThatAreLowAsOften) {
  HeardCrop heard = made_crop(small_field("over_dates_runs"));
  heard.over_dates.erase(heard.over_dates.begin());
  CropOverDates& joined = heard.over_dates.front();
  ASSERT_GE(joined.laterals.size(), 6U);
  joined.laterals[1].low = 2;
  joined.laterals[4].low = 3;
  const std::string text = unwrapped(crop_text(heard));
  const std::string run = "Laterals " + joined.laterals[0].name + " to " + joined.laterals[1].name +
                          " are low on 2 of 3 dates";
  const std::string worst = "Lateral " + joined.laterals[4].name + " is low on 3 of 3 dates";
  ASSERT_THAT(text, HasSubstr(run));
  ASSERT_THAT(text, HasSubstr(worst));
  EXPECT_LT(text.find(worst), text.find(run));
}

TEST(CropOverDatesText, SaysThatNoLateralIsLowOftenAndNothingWhereNothingIsJoined) {
  HeardCrop heard = made_crop(small_field("over_dates_none"));
  heard.over_dates.erase(heard.over_dates.begin());
  heard.over_dates.front().laterals.front().low = 1;
  EXPECT_THAT(unwrapped(crop_text(heard)),
              HasSubstr("Laterals None as a whole is low on 2 dates or more."));
  heard.over_dates.clear();
  EXPECT_THAT(crop_text(heard), Not(HasSubstr("over 3 dates")));
}

TEST(CropOverDatesTables, HoldDatesZonesAndLaterals) {
  const HeardCrop heard = made_crop(small_field("over_dates_tables"));
  const std::vector<ResultLayer> layers = crop_result_layers(heard);
  const ResultLayer& dates = named(layers, "crop_dates");
  ASSERT_EQ(dates.rows.size(), 6U);
  EXPECT_EQ(std::get<std::string>(dates.rows[5].values[4]), "2025-07-31");
  const ResultLayer& zones = named(layers, "zones_over_dates");
  EXPECT_EQ(zones.rows.size(), 2 * heard.layers[0].zones.size());
  const ResultLayer& laterals = named(layers, "laterals_over_dates");
  ASSERT_EQ(laterals.rows.size(), 2 * heard.layers[0].laterals.size());
  EXPECT_EQ(std::get<long long>(laterals.rows[0].values[3]), 2);
  EXPECT_EQ(std::get<std::string>(laterals.rows[0].values[6]), "low in 2 of 3 seasons");
}

}  // namespace
}  // namespace evendrip
