// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/condition_tables.hpp"

#include "conditioned_story.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>
#include <set>

#include "evendrip/geo/line.hpp"
#include "evendrip/report/tables.hpp"

namespace evendrip {
namespace {

const ResultLayer& layer_of(const std::vector<ResultLayer>& layers, const std::string& name) {
  return *std::find_if(layers.begin(), layers.end(),
                       [&name](const ResultLayer& layer) { return layer.name == name; });
}

std::size_t column(const ResultLayer& layer, const std::string& name) {
  const auto found = std::find_if(layer.fields.begin(), layer.fields.end(),
                                  [&name](const LayerField& field) { return field.name == name; });
  EXPECT_NE(found, layer.fields.end()) << name;
  return static_cast<std::size_t>(found - layer.fields.begin());
}

const CellValue& value_of(const ResultLayer& layer, const LayerRow& row, const std::string& name) {
  return row.values.at(column(layer, name));
}

bool is_null(const CellValue& value) {
  return std::holds_alternative<std::monostate>(value);
}

TEST(ConditionLayers, AreNoneWhereNothingWasJudged) {
  EXPECT_TRUE(condition_layers(test::shared_story("condition_tables_none")).empty());
}

TEST(ConditionLayers, StandAmongTheResultsUnderTheirOwnNames) {
  const Story& story = test::shared_conditioned_story("condition_tables_results");
  std::set<std::string> names;
  const auto layers = result_layers(story);
  for (const ResultLayer& layer : layers) names.insert(layer.name);
  EXPECT_EQ(names.size(), layers.size());
  for (const char* name : {"condition_emitters", "condition_segments", "condition_zones",
                           "condition_crop_layers", "network_faults", "condition_why"})
    EXPECT_EQ(names.count(name), 1U) << name;
}

TEST(ConditionLayers, GiveEveryRowOneValueForEachField) {
  const Story& story = test::shared_conditioned_story("condition_tables_fields");
  for (const ResultLayer& layer : condition_layers(story)) {
    EXPECT_GT(layer.rows.size() + layer.made_rows, 0U) << layer.name;
    for (const LayerRow& row : layer.rows)
      EXPECT_EQ(row.values.size(), layer.fields.size()) << layer.name;
    for (std::size_t i = 0; i < layer.made_rows; ++i)
      ASSERT_EQ(layer.make_row(i).values.size(), layer.fields.size()) << layer.name;
  }
}

TEST(ConditionEmitters, HoldEveryEmitterWithTheConditionOfItsSegment) {
  const Story& story = test::shared_conditioned_story("condition_tables_emitters");
  const auto layers = condition_layers(story);
  const ResultLayer& layer = layer_of(layers, "condition_emitters");
  std::size_t emitters = 0;
  for (const Lateral& lateral : story.field.laterals)
    emitters += static_cast<std::size_t>(lateral.emitters);
  ASSERT_EQ(layer.made_rows, emitters);
  const FieldCondition& condition = story.condition;
  std::set<std::pair<std::string, long long>> seen;
  for (std::size_t i = 0; i < layer.made_rows; ++i) {
    const LayerRow row = layer.make_row(i);
    const auto& lateral = std::get<std::string>(value_of(layer, row, "lateral"));
    seen.insert({lateral, std::get<long long>(value_of(layer, row, "emitter"))});
    if (std::get<std::string>(value_of(layer, row, "zone")) != story.field.zones[0].id) continue;
    const double station = std::get<double>(value_of(layer, row, "station_m"));
    const auto k = static_cast<int>(station / condition.zones[0].grid.step_m);
    const int number =
        static_cast<int>(std::find_if(story.field.laterals.begin(), story.field.laterals.end(),
                                      [&](const Lateral& one) { return one.id == lateral; }) -
                         story.field.laterals.begin());
    const int lateral_row = condition.zones[0].grid.row_of(number);
    const auto segment =
        std::find_if(condition.zones[0].segments.begin(), condition.zones[0].segments.end(),
                     [&](const auto& one) { return one.row == lateral_row && one.station == k; });
    ASSERT_NE(segment, condition.zones[0].segments.end());
    EXPECT_EQ(std::get<double>(value_of(layer, row, "delivery")), segment->delivery.value);
    EXPECT_EQ(std::get<double>(value_of(layer, row, "performance_upper_90")),
              segment->performance.upper_90);
    EXPECT_EQ(std::get<double>(value_of(layer, row, "p_low")), segment->p_low);
    EXPECT_EQ(std::get<long long>(value_of(layer, row, "known")),
              lateral_row == test::open_row ? 0 : 1);
    const Point place = std::get<Point>(row.shape);
    EXPECT_LT(
        project_onto(story.field.laterals[static_cast<std::size_t>(number)].line, place).distance_m,
        1e-6);
  }
  EXPECT_EQ(seen.size(), emitters);
}

TEST(ConditionEmitters, TellNoProbabilityWithoutHoles) {
  const Story& story = test::shared_conditioned_story("condition_tables_unverified");
  const auto layers = condition_layers(story);
  const ResultLayer& layer = layer_of(layers, "condition_emitters");
  std::size_t told = 0;
  for (std::size_t i = 0; i < layer.made_rows; ++i) {
    const LayerRow row = layer.make_row(i);
    if (std::get<std::string>(value_of(layer, row, "zone")) != story.field.zones[1].id) continue;
    EXPECT_TRUE(is_null(value_of(layer, row, "p_clogged")));
    EXPECT_TRUE(is_null(value_of(layer, row, "p_low")));
    EXPECT_TRUE(is_null(value_of(layer, row, "delivery")));
    EXPECT_GE(std::get<double>(value_of(layer, row, "crop_by_water")), 0.8);
    ++told;
  }
  EXPECT_GT(told, 100U);
}

TEST(ConditionEmitters, KeepProbabilitiesBackWithoutHolesEvenWhereSegmentsAreTold) {
  Story story = test::conditioned_story("condition_tables_gauges");
  ZoneState& zone = story.condition.zones[0];
  zone.unverified_crop.assign(static_cast<std::size_t>(zone.grid.segments()), 0.0);
  const auto layers = condition_layers(story);
  const ResultLayer& layer = layer_of(layers, "condition_segments");
  const LayerRow& row = layer.rows.front();
  EXPECT_FALSE(is_null(value_of(layer, row, "delivery")));
  EXPECT_TRUE(is_null(value_of(layer, row, "p_clogged")));
  EXPECT_EQ(std::get<long long>(value_of(layer, row, "known")), 0);
}

TEST(ConditionSegments, CoverEveryLateralOnceWithPartsThatAddUp) {
  const Story& story = test::shared_conditioned_story("condition_tables_segments");
  const auto layers = condition_layers(story);
  const ResultLayer& layer = layer_of(layers, "condition_segments");
  double told_m = 0;
  for (const LayerRow& row : layer.rows) {
    told_m += std::get<double>(value_of(layer, row, "to_m")) -
              std::get<double>(value_of(layer, row, "from_m"));
    EXPECT_GT(length_m(std::get<Line>(row.shape)), 0);
    if (is_null(value_of(layer, row, "level"))) continue;
    double sum = 1;
    for (const char* part : {"level", "station", "lateral_part", "group_part", "local"})
      sum += std::get<double>(value_of(layer, row, part));
    EXPECT_NEAR(sum, std::get<double>(value_of(layer, row, "performance")), 1e-12);
  }
  double all_m = 0;
  for (const Lateral& lateral : story.field.laterals) all_m += lateral.length_m;
  EXPECT_NEAR(told_m, all_m, 1e-6);
}

TEST(ConditionZones, TellUniformitySharesAndWhatEachWasJudgedBy) {
  const Story& story = test::shared_conditioned_story("condition_tables_zones");
  const auto layers = condition_layers(story);
  const ResultLayer& layer = layer_of(layers, "condition_zones");
  ASSERT_EQ(layer.rows.size(), 2U);
  const LayerRow& first = layer.rows[0];
  EXPECT_EQ(std::get<double>(value_of(layer, first, "uniformity_emitters")), 0.78);
  EXPECT_EQ(std::get<double>(value_of(layer, first, "uniformity_plants")), 0.84);
  EXPECT_EQ(std::get<double>(value_of(layer, first, "uniformity_sample")), 0.86);
  EXPECT_EQ(std::get<double>(value_of(layer, first, "crop_share_soil")), 0.4);
  EXPECT_EQ(std::get<double>(value_of(layer, first, "plugged_share")), 0.04);
  EXPECT_EQ(std::get<long long>(value_of(layer, first, "holes")),
            static_cast<long long>(test::holes_in(story, 0)));
  const LayerRow& second = layer.rows[1];
  EXPECT_EQ(std::get<std::string>(value_of(layer, second, "judged_by")),
            "crop and gauges only, not verified");
  for (const char* name : {"plugged_share", "emitters_low", "uniformity_emitters"})
    EXPECT_TRUE(is_null(value_of(layer, second, name))) << name;
}

TEST(ConditionCropLayers, TellEachVoiceInEachZone) {
  const Story& story = test::shared_conditioned_story("condition_tables_voices");
  const auto layers = condition_layers(story);
  const ResultLayer& layer = layer_of(layers, "condition_crop_layers");
  ASSERT_EQ(layer.rows.size(), 3U);
  EXPECT_EQ(std::get<double>(value_of(layer, layer.rows[0], "placebo_p")), 0.05);
  EXPECT_EQ(std::get<long long>(value_of(layer, layer.rows[1], "used")), 0);
  EXPECT_TRUE(is_null(value_of(layer, layer.rows[1], "placebo_p")));
}

TEST(NetworkFaults, StandWhereTheyAreOnTheirPipe) {
  const Story& story = test::shared_conditioned_story("condition_tables_faults");
  const auto layers = condition_layers(story);
  const ResultLayer& layer = layer_of(layers, "network_faults");
  ASSERT_EQ(layer.rows.size(), 1U);
  const LayerRow& row = layer.rows[0];
  EXPECT_EQ(std::get<std::string>(value_of(layer, row, "id")), "F1");
  EXPECT_EQ(std::get<double>(value_of(layer, row, "severity")), 0.8);
  const int lateral = story.condition.zones[0].network.faults[0].fault.line;
  const Line& line = story.field.laterals[static_cast<std::size_t>(lateral)].line;
  EXPECT_LT(distance_m(std::get<Point>(row.shape), line.front()), 1e-6);
}

}  // namespace
}  // namespace evendrip
