// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <stdexcept>

#include "made_crop.hpp"

namespace evendrip {
namespace {

using test::made_crop;
using test::small_field;

const ResultLayer& layer_named(const std::vector<ResultLayer>& layers, const std::string& name) {
  const auto found = std::find_if(layers.begin(), layers.end(),
                                  [&](const ResultLayer& layer) { return layer.name == name; });
  if (found == layers.end()) throw std::out_of_range(name);
  return *found;
}

std::size_t column(const ResultLayer& layer, const std::string& name) {
  const auto found = std::find_if(layer.fields.begin(), layer.fields.end(),
                                  [&](const LayerField& field) { return field.name == name; });
  if (found == layer.fields.end()) throw std::out_of_range(name);
  return static_cast<std::size_t>(found - layer.fields.begin());
}

std::vector<LayerRow> rows_of(const ResultLayer& layer) {
  std::vector<LayerRow> rows = layer.rows;
  for (std::size_t i = 0; i < layer.made_rows; ++i) rows.push_back(layer.make_row(i));
  return rows;
}

TEST(CropTables, EveryRowHasAValueForEveryField) {
  const HeardCrop heard = made_crop(small_field("crop_tables"));
  for (const ResultLayer& layer : crop_result_layers(heard)) {
    const auto rows = rows_of(layer);
    EXPECT_FALSE(rows.empty()) << layer.name;
    for (const LayerRow& row : rows) {
      ASSERT_EQ(row.values.size(), layer.fields.size()) << layer.name;
    }
  }
}

TEST(CropTables, HoldEveryRecordWithTheStepThatSetItAside) {
  const HeardCrop heard = made_crop(small_field("crop_tables_records"));
  const auto layers = crop_result_layers(heard);
  const ResultLayer& records = layer_named(layers, "yield_records");
  const auto rows = rows_of(records);
  ASSERT_EQ(rows.size(), 90U);
  const std::size_t step = column(records, "step");
  const std::size_t yield = column(records, "yield_t_ha");
  EXPECT_EQ(std::get<std::string>(rows[0].values[step]), "kept");
  EXPECT_EQ(std::get<std::string>(rows[1].values[step]), "no_value");
  EXPECT_EQ(std::get<std::string>(rows[8].values[step]), "odd_neighbours");
  EXPECT_TRUE(std::holds_alternative<std::monostate>(rows[1].values[yield]));
  EXPECT_DOUBLE_EQ(std::get<double>(rows[2].values[yield]), 9.02);
}

TEST(CropTables, CountRecordsOfSeveralLogsOneAfterTheOther) {
  HeardCrop heard = made_crop(small_field("crop_tables_logs"));
  heard.layers.push_back(heard.layers.front());
  heard.layers.back().layer.id = "2024-yield";
  const auto layers = crop_result_layers(heard);
  const ResultLayer& records = layer_named(layers, "yield_records");
  ASSERT_EQ(records.made_rows, 180U);
  EXPECT_EQ(std::get<std::string>(records.make_row(89).values[0]), "2025-yield");
  EXPECT_EQ(std::get<std::string>(records.make_row(90).values[0]), "2024-yield");
  EXPECT_EQ(std::get<long long>(records.make_row(90).values[column(records, "row")]), 2);
}

TEST(CropTables, CutSegmentsOutOfTheirLaterals) {
  const HeardCrop heard = made_crop(small_field("crop_tables_segments"));
  const auto layers = crop_result_layers(heard);
  const ResultLayer& segments = layer_named(layers, "crop_segments");
  const Line& first = std::get<Line>(segments.rows[0].shape);
  EXPECT_NEAR(distance_m(first.front(), first.back()), 10 * heard.field.scale_factor, 1e-6);
  EXPECT_TRUE(std::holds_alternative<std::monostate>(
      segments.rows[1].values[column(segments, "relative_mean")]));
}

TEST(CropTables, MarkPlacesWhoseShapeIsNotToldForAReason) {
  HeardCrop heard = made_crop(small_field("crop_tables_not_told"));
  auto& patches = heard.layers.front().screening.patches;
  patches[0].runs_with_passes = true;
  patches[1].at_field_limit = true;
  const auto layers = crop_result_layers(heard);
  const ResultLayer& places = layer_named(layers, "patches");
  const auto marked = [&](std::size_t row, const char* name) {
    return std::get<long long>(places.rows[row].values[column(places, name)]);
  };
  EXPECT_EQ(marked(0, "runs_with_passes"), 1);
  EXPECT_EQ(marked(0, "at_field_limit"), 0);
  EXPECT_EQ(marked(1, "runs_with_passes"), 0);
  EXPECT_EQ(marked(1, "at_field_limit"), 1);
}

}  // namespace
}  // namespace evendrip
