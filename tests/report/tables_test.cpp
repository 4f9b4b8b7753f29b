// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/tables.hpp"

#include "small_story.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

namespace evendrip {
namespace {

const ResultLayer& layer_of(const std::vector<ResultLayer>& layers, const std::string& name) {
  return *std::find_if(layers.begin(), layers.end(),
                       [&name](const ResultLayer& layer) { return layer.name == name; });
}

TEST(ResultLayers, GiveEveryRowOneValueForEachField) {
  const Story story = test::small_story("tables_fields");
  const auto layers = result_layers(story);
  std::set<std::string> names;
  for (const ResultLayer& layer : layers) {
    names.insert(layer.name);
    for (const LayerRow& row : layer.rows) EXPECT_EQ(row.values.size(), layer.fields.size());
  }
  EXPECT_EQ(names.size(), layers.size());
}

TEST(ResultLayers, HoldEveryZoneLateralAndMeasuredEmitter) {
  const Story story = test::small_story("tables_rows");
  const auto layers = result_layers(story);
  EXPECT_EQ(layer_of(layers, "zones").rows.size(), 2U);
  EXPECT_EQ(layer_of(layers, "laterals").rows.size(), 32U);
  EXPECT_EQ(layer_of(layers, "emitters").rows.size(), story.survey.emitters.size());
  EXPECT_EQ(layer_of(layers, "crop_by_zone").rows.size(), 2 * story.crops.size());
  EXPECT_EQ(layer_of(layers, "doubts").rows.size(), doubts_of(story).size());
}

TEST(RecordOf, NamesVersionSeedAndTheHashOfEveryInput) {
  const Story story = test::small_story("tables_record");
  const auto record = record_of(story);
  const auto has = [&record](const std::string& key) {
    return std::any_of(record.begin(), record.end(),
                       [&key](const auto& e) { return e.first == key; });
  };
  EXPECT_TRUE(has("program"));
  EXPECT_TRUE(has("seed"));
  EXPECT_TRUE(has("sha256 field.toml"));
  EXPECT_GE(story.field.inputs.size(), 3U);
}

}  // namespace
}  // namespace evendrip
