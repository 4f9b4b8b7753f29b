// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/surface_tables.hpp"

#include "evendrip/surface/zone_influence.hpp"

#include "small_story.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <variant>

namespace evendrip {
namespace {

void expect_whole_rows(const ResultLayer& layer) {
  for (const auto& row : layer.rows)
    EXPECT_EQ(row.values.size(), layer.fields.size()) << layer.name;
}

TEST(SurfaceTables, HaveAValueForEveryFieldOfEveryRow) {
  Story story = test::small_story("surface_tables");
  story.segments = segments_of(story.field, story.surface, 10, {});
  story.areas = areas_below(story.field, story.surface, 20, 1, {});
  story.influence = zone_influence(story.field, story.surface, {});
  ASSERT_FALSE(story.segments.empty());
  ASSERT_FALSE(story.areas.empty());
  const ResultLayer segments = segments_layer(story);
  EXPECT_EQ(segments.rows.size(), story.segments.size());
  const ResultLayer models = surface_models_layer(story);
  ASSERT_TRUE(story.surface.choice());
  EXPECT_EQ(models.rows.size(), story.surface.choice()->table.size());
  const ResultLayer parameters = surface_parameters_layer(story);
  EXPECT_EQ(parameters.rows.size(), story.surface.choice()->fit.coefficients.size() +
                                        story.surface.choice()->fit.parameters.size());
  for (const ResultLayer& layer :
       {segments, models, parameters, cross_validation_layer(story), unlike_emitters_layer(story),
        influence_layer(story), areas_below_layer(story)})
    expect_whole_rows(layer);
}

TEST(SurfaceTables, ListEmittersByWhatTheyMove) {
  Story story = test::small_story("surface_tables_influence");
  story.influence.assign(story.surface.samples().samples.size(), 0.001);
  ASSERT_GT(story.influence.size(), 2U);
  story.influence[1] = -0.02;
  story.influence[2] = std::nan("");
  const ResultLayer layer = influence_layer(story);
  EXPECT_EQ(layer.rows.size(), story.influence.size() - 1);
  EXPECT_EQ(std::get<double>(layer.rows[0].values[3]), -0.02);
  EXPECT_EQ(std::get<double>(layer.rows[1].values[3]), 0.001);
}

TEST(SurfaceTables, OfASegmentWithoutAnErrorHoldNoLimits) {
  Story story = test::small_story("surface_tables_no_error");
  Segment segment;
  segment.lateral = 0;
  segment.line = story.field.laterals[0].line;
  segment.r = {0.8, std::nan("")};
  story.segments = {segment};
  const ResultLayer layer = segments_layer(story);
  expect_whole_rows(layer);
  EXPECT_EQ(std::get<double>(layer.rows[0].values[4]), 0.8);
  EXPECT_TRUE(std::holds_alternative<std::monostate>(layer.rows[0].values[5]));
}

}  // namespace
}  // namespace evendrip
