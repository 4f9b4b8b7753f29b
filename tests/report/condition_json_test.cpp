// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/condition_json.hpp"

#include "conditioned_story.hpp"
#include "schema_check.hpp"

#include <gtest/gtest.h>

#include <fstream>

#include "evendrip/report/summary.hpp"

namespace evendrip {
namespace {

using test::Json;

test::SchemaCheck published_schema() {
  std::ifstream in(std::filesystem::path(EVENDRIP_TEST_DATA) / ".." /
                   "src/report/schemas/condition-1.schema.json");
  return test::SchemaCheck(Json::parse(in));
}

Json told(const Story& story) {
  return Json::parse(condition_json(story).dump());
}

TEST(ConditionJson, IsNullWhereNothingWasJudged) {
  const Story& story = test::shared_story("condition_json_none");
  EXPECT_TRUE(condition_json(story).is_null());
  EXPECT_TRUE(Json::parse(summary_json(story)).at("condition").is_null());
}

TEST(ConditionJson, FollowsItsPublishedSchema) {
  const Story& story = test::shared_conditioned_story("condition_json_schema");
  const Json json = told(story);
  EXPECT_EQ(published_schema().errors_of(json), std::vector<std::string>{});
  EXPECT_EQ(Json::parse(summary_json(story)).at("condition"), json);
}

TEST(ConditionJson, FollowsItFromAZoneThatWasNotJudged) {
  Story story = test::conditioned_story("condition_json_not_judged");
  story.condition.zones[0] = {};
  story.condition.zones[0].why_not = "it has no laterals";
  story.condition.zones[1].unverified_crop.clear();
  EXPECT_EQ(published_schema().errors_of(told(story)), std::vector<std::string>{});
}

TEST(ConditionJson, TellsPlacesWithoutAVerdictAndThoseThatAreNoWater) {
  Story story = test::conditioned_story("condition_json_doubts");
  test::add_doubts(story.condition.zones[0]);
  const Json json = told(story);
  EXPECT_EQ(published_schema().errors_of(json), std::vector<std::string>{});
  const Json& zone = json["zones"][0];
  ASSERT_EQ(zone["low_before_irrigation"].size(), 1U);
  EXPECT_EQ(zone["low_before_irrigation"][0]["layer"], "early");
  EXPECT_EQ(zone["low_before_irrigation"][0]["first_lateral"],
            zone["low_before_irrigation"][0]["last_lateral"]);
  ASSERT_EQ(zone["crop_contradicts"].size(), 1U);
  EXPECT_EQ(zone["crop_contradicts"][0]["layer"], "coarse");
  EXPECT_NEAR(zone["crop_contradicts"][0]["to_m"].get<double>(), 10, 0.01);
  EXPECT_EQ(zone["crop_bends_at_delivery_frac"], 0.9);
  EXPECT_EQ(json["zones"][1]["crop_bends_at_delivery_frac"], nullptr);
}

TEST(ConditionJson, IsRefusedByTheSchemaWhereItBreaksThePromise) {
  const Json good = told(test::shared_conditioned_story("condition_json_spoilt"));
  const auto refused = [&good](const auto& spoil) {
    Json spoilt = good;
    spoil(spoilt);
    return !published_schema().errors_of(spoilt).empty();
  };
  EXPECT_TRUE(refused([](Json& t) { t["zones"][0].erase("uniformity"); }));
  EXPECT_TRUE(refused([](Json& t) { t["zones"][0]["network"]["more"] = 1; }));
  EXPECT_TRUE(refused([](Json& t) { t["zones"][0]["holes"] = "many"; }));
  EXPECT_TRUE(refused([](Json& t) { t["schema"] = "evendrip-condition/2"; }));
  EXPECT_TRUE(refused(
      [](Json& t) { t["zones"][0]["uniformity"]["plants_frac"]["limits_90"].push_back(1); }));
}

TEST(ConditionJson, TellsFiguresOfTheStory) {
  const Story& story = test::shared_conditioned_story("condition_json_figures");
  const Json json = told(story);
  const Json& zone = json["zones"][0];
  EXPECT_EQ(zone["uniformity"]["emitters_frac"]["value"], 0.78);
  EXPECT_EQ(zone["crop_shares"]["soil_frac"], 0.4);
  EXPECT_EQ(zone["crop_shares"]["group_frac"], 0.04);
  EXPECT_EQ(zone["crop_shares"]["edge_frac"], 0.05);
  EXPECT_EQ(zone["crop_shares"]["ground_frac"], 0.02);
  EXPECT_EQ(zone["network"]["faults"][0]["id"], "F1");
  EXPECT_EQ(zone["low"].size(), 2U);
  EXPECT_EQ(zone["not_known"].size(), 1U);
  EXPECT_EQ(zone["emitters"]["all"], zone["emitters"]["enough"].get<int>() +
                                         zone["emitters"]["low"].get<int>() +
                                         zone["emitters"]["not_known"].get<int>());
  const Json& unverified = json["zones"][1];
  EXPECT_TRUE(unverified["emitters"].is_null());
  EXPECT_TRUE(unverified["low"].empty());
  EXPECT_EQ(unverified["crop_low_by_shape"].size(), 1U);
  EXPECT_GT(json["what_moved"].size(), 2U);
}

}  // namespace
}  // namespace evendrip
