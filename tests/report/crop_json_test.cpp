// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "made_crop.hpp"

namespace evendrip {
namespace {

using nlohmann::json;
using test::made_crop;
using test::small_field;

TEST(CropJson, HoldsEveryPartOfALog) {
  const json told = json::parse(crop_json(made_crop(small_field("crop_json"))));
  EXPECT_EQ(told["schema"], "evendrip-crop/1");
  EXPECT_EQ(told["seed"], 7);
  ASSERT_EQ(told["layers"].size(), 2U);
  const json& yield = told["layers"][0];
  EXPECT_EQ(yield["harvest"]["records"], 90);
  EXPECT_EQ(yield["harvest"]["kept"], 10);
  EXPECT_EQ(yield["harvest"]["steps"].size(), 8U);
  EXPECT_EQ(yield["harvest"]["steps"][0]["step"], "no_value");
  EXPECT_DOUBLE_EQ(yield["harvest"]["travel_time"]["curve"][1]["disagreement_frac"], 0.03);
  EXPECT_DOUBLE_EQ(yield["profiles"][0]["change_frac"], -0.15);
  EXPECT_EQ(yield["look_first"][0]["shape"], "follows_laterals");
  EXPECT_EQ(yield["look_first"].size(), 4U);
  EXPECT_EQ(yield["look_first"][3]["runs_with_passes"], false);
  EXPECT_EQ(yield["look_first"][3]["at_field_limit"], false);
  EXPECT_DOUBLE_EQ(yield["association"]["with_crop"]["correlation"], 0.55);
  EXPECT_TRUE(yield["association"]["with_water_part"].is_null());
  EXPECT_DOUBLE_EQ(yield["association"]["crop_over_m"], 1.5);
  EXPECT_EQ(told["stability"]["seasons"], 3);
  ASSERT_EQ(told["over_dates"].size(), 2U);
  const json& season = told["over_dates"][1];
  EXPECT_EQ(season["id"], "biomass_2025");
  EXPECT_EQ(season["season"], "2025");
  EXPECT_TRUE(told["over_dates"][0]["season"].is_null());
  EXPECT_EQ(season["dates"][2]["date"], "2025-07-31");
  EXPECT_EQ(season["laterals"][0]["low_dates"], 2);
  EXPECT_EQ(season["laterals"][0]["each"].size(), 3U);
  EXPECT_EQ(told["doubts"].back()["code"], "mixed_units");
}

TEST(CropJson, SaysNullForWhatALayerDoesNotHave) {
  const json told = json::parse(crop_json(made_crop(small_field("crop_json_null"))));
  const json& warm = told["layers"][1];
  EXPECT_TRUE(warm["harvest"].is_null());
  EXPECT_TRUE(warm["sees"].is_null());
  EXPECT_TRUE(warm["association"].is_null());
  EXPECT_EQ(warm["index"]["pixel_m"], 10);
}

}  // namespace
}  // namespace evendrip
