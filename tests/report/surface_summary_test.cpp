// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/surface_summary.hpp"

#include "small_story.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evendrip {
namespace {

using testing::HasSubstr;

Story told_story(const std::string& name) {
  Story story = test::small_story(name);
  story.areas = {{0, 0.75, 2.0, 0.5, 0.2, 0.9}, {-1, 0.75, 4.0, 0.6, 0.3, 1.0}};
  return story;
}

TEST(SurfaceSummary, TellsCandidatesEstimatorsAndAreas) {
  const Story story = told_story("surface_summary_text");
  const std::string text = surface_text(story);
  EXPECT_THAT(text, HasSubstr(story.surface.method_text()));
  ASSERT_TRUE(story.surface.choice());
  for (const CandidateScore& score : story.surface.choice()->table)
    EXPECT_THAT(text, HasSubstr(score.name));
  EXPECT_THAT(text, HasSubstr("chosen"));
  EXPECT_THAT(text, HasSubstr("this map"));
  EXPECT_THAT(text, HasSubstr("whole lateral left out"));
  EXPECT_THAT(text, HasSubstr("below 0.75: 0.500 ha (0.200 ha to 0.900 ha) of 2.00 ha"));
  EXPECT_THAT(text, HasSubstr("field"));
  EXPECT_THAT(text, testing::Not(HasSubstr("nan")));
}

TEST(SurfaceSummary, IsTheSameAsJson) {
  const Story story = told_story("surface_summary_json");
  const auto json = surface_json(story);
  ASSERT_TRUE(story.surface.choice());
  EXPECT_EQ(json["candidates"].size(), story.surface.choice()->table.size());
  EXPECT_EQ(json["comparison"].size(), story.surface.comparison().size());
  EXPECT_EQ(json["fit"]["observations"], story.surface.choice()->fit.observations);
  EXPECT_EQ(json["areas_below"][0]["below_ha"], 0.5);
  EXPECT_TRUE(json["areas_below"][1]["zone"].is_null());
  EXPECT_EQ(json["zones"].size(), 2U);
}

}  // namespace
}  // namespace evendrip
