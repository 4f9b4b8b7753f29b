// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/condition_figures.hpp"

#include "conditioned_story.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

TEST(ConditionFigures, GiveEachHoleItsOwnProbabilityOfBeingPlugged) {
  const Story& story = test::shared_conditioned_story("condition_holes");
  const ZoneState& zone = story.condition.zones[0];
  const auto holes = holes_of(story, zone);
  ASSERT_EQ(holes.size(), zone.condition.plugged.size());
  ASSERT_GT(holes.size(), 4U);
  EXPECT_DOUBLE_EQ(holes.front().plugged, 0.97);
  for (const ConditionHole& hole : holes) {
    const MeasuredEmitter& emitter = story.survey.emitters[hole.emitter];
    EXPECT_EQ(zone.grid.row_of(emitter.site.lateral), hole.row);
    EXPECT_EQ(emitter.site.zone, 0);
  }
}

TEST(ConditionFigures, LeaveThePluggedHolesOpenWhereTheyAreOfOtherHoles) {
  Story story = test::conditioned_story("condition_other_holes");
  story.condition.zones[0].condition.plugged.pop_back();
  for (const ConditionHole& hole : holes_of(story, story.condition.zones[0]))
    EXPECT_TRUE(std::isnan(hole.plugged));
}

TEST(ConditionFigures, CountEveryEmitterOfAZoneUnderOneVerdict) {
  const Story& story = test::shared_conditioned_story("condition_counts");
  const ZoneState& zone = story.condition.zones[0];
  const VerdictCounts counts = verdicts_in(story.field, zone);
  int all = 0;
  for (const Lateral& lateral : story.field.laterals)
    if (lateral.zone == 0) all += lateral.emitters;
  EXPECT_EQ(counts.all(), all);
  const int of_a_lateral = story.field.laterals.front().emitters;
  EXPECT_EQ(counts.not_known, of_a_lateral);  // the one whose verdict hangs on the crop
  // Half of four laterals are weak, one is pinched.
  EXPECT_NEAR(counts.low, 3 * of_a_lateral, 4);
  double expected = 0;
  for (const SegmentCondition& segment : zone.segments)
    expected += segment.p_low / static_cast<double>(zone.segments.size());
  EXPECT_NEAR(counts.low_one_by_one / all, expected, 0.02);
}

TEST(ConditionFigures, TellPatchesByTheirVerdict) {
  const Story& story = test::shared_conditioned_story("condition_patches");
  const ZoneState& zone = story.condition.zones[0];
  const auto low = patches_of(story.field, zone, WaterVerdict::low);
  ASSERT_EQ(low.size(), 2U);
  EXPECT_EQ(low[0].patch.first_row, test::weak_first);
  EXPECT_EQ(low[0].patch.last_row, test::weak_last);
  EXPECT_NEAR(low[0].delivery, 0.65, 0.05);
  EXPECT_NEAR(low[0].performance, low[0].delivery, 1e-9);
  EXPECT_EQ(low[1].patch.first_row, test::pinched_row);
  EXPECT_NEAR(low[1].performance - low[1].delivery, 0.27, 1e-9);
  const auto open = patches_of(story.field, zone, WaterVerdict::not_known);
  ASSERT_EQ(open.size(), 1U);
  EXPECT_EQ(open[0].patch.first_row, test::open_row);
}

TEST(ConditionFigures, TellTheCropDeficitInTheUnitOfTheLayer) {
  Story story = test::conditioned_story("condition_deficit");
  const ZoneState& zone = story.condition.zones[1];
  const auto patches = low_crop_patches(story.field, zone);
  ASSERT_EQ(patches.size(), 1U);
  EXPECT_EQ(patches[0].patch.first_row, test::low_crop_row);
  EXPECT_NEAR(patches[0].relative, 0.8, 1e-12);
  CropLayer& layer = story.crops.front().layer;
  layer.unit = "t/ha";
  layer.median = 9;
  layer.sense = CropSense::low_is_bad;
  EXPECT_EQ(crop_deficit(story, zone, 0.8), "1.8 t/ha (20 % of the median)");
  layer.unit = "";
  EXPECT_EQ(crop_deficit(story, zone, 0.8), "20 % of the median");
}

TEST(ConditionFigures, SayWhatAZoneWasJudgedBy) {
  Story story = test::conditioned_story("condition_by");
  ZoneState& zone = story.condition.zones[0];
  const std::string layer = story.crops.front().layer.id;
  EXPECT_EQ(judged_by(zone), "holes and the crop layer " + layer);
  zone.layer_used.clear();
  EXPECT_EQ(judged_by(zone), "holes, without crop");
  EXPECT_EQ(judged_by(story.condition.zones[1]), "crop and gauges only, not verified");
  zone.judged = false;
  zone.why_not = "no laterals";
  EXPECT_EQ(judged_by(zone), "not judged: no laterals");
}

}  // namespace
}  // namespace evendrip
