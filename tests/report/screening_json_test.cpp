// SPDX-License-Identifier: Apache-2.0
#include "made_crop.hpp"
#include "small_screening.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <limits>

namespace evendrip {
namespace {

using Json = nlohmann::json;

TEST(ScreeningJson, AgreesWithTheStory) {
  const ScreeningStory story = test::small_screening("screening_json");
  const Json json = Json::parse(screening_json(story));
  EXPECT_EQ(json["schema"], "evendrip-screening/1");
  EXPECT_EQ(json["survey"]["id"], story.survey.id);
  EXPECT_TRUE(json["commissioning_date"].is_null());
  EXPECT_TRUE(json["commissioning_written"].is_null());
  ASSERT_EQ(json["zones"].size(), story.screening.zones.size());
  for (std::size_t i = 0; i < story.screening.zones.size(); ++i) {
    const ScreenedZone& zone = story.screening.zones[i];
    const Json& told = json["zones"][i];
    EXPECT_EQ(told["told"], !zone.not_told);
    EXPECT_EQ(told["state"], state_code(zone.beliefs.front().state));
    EXPECT_EQ(told["changes"].size(), zone.changes.size());
    double sum = 0;
    for (const Json& state : told["states"]) sum += state["probability"].get<double>();
    EXPECT_NEAR(sum, 1, 1e-9);
  }
  EXPECT_EQ(json["design"].size(), story.design.size());
  EXPECT_EQ(json["season_start_checks"].size(), season_start_checks().size());
  EXPECT_FALSE(json["inputs"].empty());
}

TEST(ScreeningJson, HoldsWhereEachCropLayerSaysToLookFirst) {
  ScreeningStory story = test::small_screening("screening_json_crop");
  EXPECT_EQ(Json::parse(screening_json(story))["crops"], Json::array());
  story.crops = test::made_crop(test::small_field("screening_json_heard")).layers;
  story.crops[0].screening.patches.front().runs_with_passes = true;
  const Json crops = Json::parse(screening_json(story))["crops"];
  ASSERT_EQ(crops.size(), story.crops.size());
  EXPECT_EQ(crops[0]["id"], "2025-yield");
  EXPECT_EQ(crops[0]["look_first"].size(), story.crops[0].screening.patches.size());
  EXPECT_EQ(crops[0]["look_first"][0]["runs_with_passes"], true);
  EXPECT_EQ(crops[0]["look_first"][1]["runs_with_passes"], false);
}

TEST(ScreeningJson, WritesNullForWhatIsUnknown) {
  ScreeningStory story = test::small_screening("screening_json_null");
  story.screening.zones[0].changes = {Change{}};
  story.design[0].flush = FlushCheck{};
  story.design[0].flush->needed_inlet_kpa = std::numeric_limits<double>::quiet_NaN();
  const Json json = Json::parse(screening_json(story));
  EXPECT_TRUE(json["zones"][0]["changes"][0]["measured_kpa"].is_null());
  EXPECT_TRUE(json["design"][0]["flush"]["needed_inlet_kpa"].is_null());
  story.design[0].flush.reset();
  EXPECT_TRUE(Json::parse(screening_json(story))["design"][0]["flush"].is_null());
}

TEST(ScreeningJson, NamesTheRecordThatWasWrittenAndEveryDoubt) {
  ScreeningStory story = test::small_screening("screening_json_written");
  story.written = record_of(story.field, story.survey);
  story.doubts = {{"d", Severity::doubt, {"a.csv", "", 2, "x"}, "a doubt", "1", "2", ""}};
  const Json json = Json::parse(screening_json(story));
  EXPECT_EQ(json["commissioning_written"]["pressures"], story.written->pressures.size());
  ASSERT_EQ(json["doubts"].size(), 1U);
  EXPECT_EQ(json["doubts"][0]["code"], "d");
}

}  // namespace
}  // namespace evendrip
