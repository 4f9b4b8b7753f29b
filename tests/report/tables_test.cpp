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
  const Story& story = test::shared_story("tables_fields");
  const auto layers = result_layers(story);
  std::set<std::string> names;
  for (const ResultLayer& layer : layers) {
    names.insert(layer.name);
    for (const LayerRow& row : layer.rows) EXPECT_EQ(row.values.size(), layer.fields.size());
  }
  EXPECT_EQ(names.size(), layers.size());
}

TEST(ResultLayers, HoldEveryZoneLateralAndMeasuredEmitter) {
  const Story& story = test::shared_story("tables_rows");
  const auto layers = result_layers(story);
  EXPECT_EQ(layer_of(layers, "zones").rows.size(), 2U);
  EXPECT_EQ(layer_of(layers, "laterals").rows.size(), 32U);
  EXPECT_EQ(layer_of(layers, "emitters").rows.size(), story.survey.emitters.size());
  EXPECT_EQ(layer_of(layers, "crop_by_zone").rows.size(), 2 * story.crops.size());
  EXPECT_EQ(layer_of(layers, "doubts").rows.size(), doubts_of(story).size());
}

/// Column of a layer by its name.
std::size_t column(const ResultLayer& layer, const std::string& name) {
  const auto found = std::find_if(layer.fields.begin(), layer.fields.end(),
                                  [&name](const LayerField& field) { return field.name == name; });
  return static_cast<std::size_t>(found - layer.fields.begin());
}

TEST(EmittersLayer, RelatesEachToWhatACleanSystemGivesAndTellsItsPressure) {
  const Story& story = test::shared_story("tables_emitters");
  const auto layers = result_layers(story);
  const ResultLayer& layer = layer_of(layers, "emitters");
  std::size_t compared = 0;
  for (const LayerRow& row : layer.rows) {
    const CellValue& expected = row.values[column(layer, "expected_lph")];
    const CellValue& relative = row.values[column(layer, "relative")];
    if (!std::holds_alternative<double>(expected) || !std::holds_alternative<double>(relative))
      continue;
    const double discharge = std::get<double>(row.values[column(layer, "discharge_lph")]);
    EXPECT_NEAR(std::get<double>(relative), discharge / std::get<double>(expected), 1e-12);
    EXPECT_EQ(relative, row.values[column(layer, "delivery")]);
    EXPECT_GT(std::get<double>(row.values[column(layer, "pressure_kpa")]), 0);
    EXPECT_EQ(std::get<std::string>(row.values[column(layer, "reference")]),
              "what a clean system would give at that place");
    ++compared;
  }
  EXPECT_GT(compared, 30U);
}

TEST(EmittersLayer, RelatesEachToTheMedianOfItsZoneWhereThereIsNoHydraulics) {
  const Story& story = test::shared_story_without_manifolds("tables_medians");
  const auto layers = result_layers(story);
  const ResultLayer& layer = layer_of(layers, "emitters");
  for (std::size_t i = 0; i < layer.rows.size(); ++i) {
    const MeasuredEmitter& emitter = story.survey.emitters[i];
    if (emitter.site.zone < 0 || !emitter.usable()) continue;
    const auto& row = layer.rows[i].values;
    const auto zone = static_cast<std::size_t>(emitter.site.zone);
    EXPECT_NEAR(std::get<double>(row[column(layer, "relative")]),
                emitter.discharge_lph / story.uniformity.zones[zone].median_lph, 1e-12);
    EXPECT_EQ(std::get<std::string>(row[column(layer, "reference")]), "the median of the zone");
    EXPECT_TRUE(std::holds_alternative<std::monostate>(row[column(layer, "delivery")]));
  }
  EXPECT_EQ(layer_of(layers, "expected_emitters").made_rows, 0U);
  EXPECT_TRUE(layer_of(layers, "pipes").rows.empty());
}

TEST(RecordOf, NamesVersionSeedAndTheHashOfEveryInput) {
  const Story& story = test::shared_story("tables_record");
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
