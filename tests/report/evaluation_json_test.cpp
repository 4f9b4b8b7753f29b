// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"

namespace evendrip {
namespace {

TEST(EvaluationJson, HasTheKeysThatItsSchemaPromises) {
  const Evaluation e = test::evaluation_of(test::small_field("json_keys"));
  const auto json = nlohmann::json::parse(evaluation_json(e));
  EXPECT_EQ(json["schema"], "evendrip-evaluation/1");
  for (const char* key : {"version", "libraries", "field", "survey", "inputs", "method", "options",
                          "simulated_coverage", "whole", "zones", "not_computed", "conclusions",
                          "cautions", "doubts"}) {
    EXPECT_TRUE(json.contains(key)) << key;
  }
  ASSERT_EQ(json["zones"].size(), 2U);
  for (const char* key : {"name", "area_ha", "laterals", "pits", "damaged", "not_found",
                          "measuring_cv_frac", "rest_on_model", "emitters", "plants", "plugged",
                          "fill_times", "variation", "ratings", "sample", "depth", "statements"}) {
    EXPECT_TRUE(json["zones"][0].contains(key)) << key;
    EXPECT_TRUE(json["whole"].contains(key)) << key;
  }
  const auto& limits = json["zones"][0]["emitters"]["limits"];
  ASSERT_EQ(limits.size(), all_measures.size());
  EXPECT_DOUBLE_EQ(limits[2]["estimate"].get<double>(),
                   json["zones"][0]["emitters"]["low_quarter_frac"].get<double>());
  EXPECT_GT(json["inputs"].size(), 2U);
}

TEST(EvaluationJson, TellsWhatIsUnknownAsNull) {
  const auto json =
      nlohmann::json::parse(evaluation_json(test::evaluation_with("json_zero", {{0, 0}, {0, 0}})));
  const auto& level = json["zones"][0]["emitters"];
  EXPECT_FALSE(level["told"].get<bool>());
  EXPECT_TRUE(level["low_quarter_frac"].is_null());
  EXPECT_FALSE(level["why_not"].get<std::string>().empty());
  EXPECT_EQ(json["zones"][0]["plugged"]["share_frac"], 1);
  EXPECT_TRUE(json["zones"][0]["plants"].is_null());
}

}  // namespace
}  // namespace evendrip
