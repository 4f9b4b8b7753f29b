// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/story.hpp"

#include "small_story.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

namespace evendrip {
namespace {

Doubt doubt_of(const char* code, const char* file, std::size_t row) {
  return {code, Severity::doubt, {file, "", row, ""}, "odd", "", "", ""};
}

TEST(Summarised, KeepsTheFirstPlaceOfEachKindInEachFile) {
  const Doubts told = summarised({doubt_of("far", "a.csv", 3), doubt_of("near", "a.csv", 4),
                                  doubt_of("far", "a.csv", 5), doubt_of("far", "b.csv", 6),
                                  doubt_of("far", "a.csv", 7)});
  ASSERT_EQ(told.size(), 3U);
  EXPECT_EQ(told[0].place.row, 3U);
  EXPECT_EQ(told[0].text, "odd (and 2 more like it)");
  EXPECT_EQ(told[1].text, "odd");
  EXPECT_EQ(told[2].place.file, "b.csv");
}

TEST(Summarised, KeepsAsManyOfAKindAsAskedAndCountsTheRest) {
  Doubts many;
  for (std::size_t row = 1; row <= 9; ++row) {
    many.push_back(doubt_of("far", "a.csv", row));
    many.push_back(doubt_of("near", "a.csv", row));
  }
  many.resize(11);  // six of the one, five of the other
  const Doubts told = summarised(many, 5);
  ASSERT_EQ(told.size(), 10U);
  EXPECT_EQ(told[8].place.row, 5U);
  EXPECT_EQ(told[8].text, "odd (and 1 more like it)");
  EXPECT_EQ(told[9].text, "odd");
}

TEST(Summarised, NeverMergesAProblemWithADoubt) {
  Doubt problem = doubt_of("far", "a.csv", 9);
  problem.severity = Severity::problem;
  EXPECT_EQ(summarised({doubt_of("far", "a.csv", 3), problem}).size(), 2U);
}

bool holds(const Doubts& doubts, const std::string& code) {
  return std::any_of(doubts.begin(), doubts.end(),
                     [&code](const Doubt& doubt) { return doubt.code == code; });
}

TEST(DoubtsOf, HoldThoseOfTheCondition) {
  Story story = test::small_story("story_condition_doubts");
  EXPECT_FALSE(holds(doubts_of(story), "far"));
  story.condition.doubts = {doubt_of("far", "a.csv", 3)};
  EXPECT_TRUE(holds(doubts_of(story), "far"));
}

TEST(DoubtsOf, HoldThoseOfHydraulics) {
  Story story = test::small_story("story_doubts");
  story.expectation.doubts.push_back(doubt_of("port_disagrees", "pressures.csv", 4));
  story.hydraulics_doubts.push_back(doubt_of("low_flushing_velocity", "", 0));
  EXPECT_TRUE(holds(doubts_of(story), "port_disagrees"));
  EXPECT_TRUE(holds(doubts_of(story), "low_flushing_velocity"));
}

TEST(NotComputed, ListsEachZoneWithoutHydraulicsAndWhatItNeeds) {
  const Story& story = test::shared_story_without_manifolds("story_not_computed");
  const auto lines = not_computed_of(story);
  EXPECT_EQ(lines.size(), story.field.not_computed.size() + 2);
  EXPECT_NE(lines.back().find("hydraulics of zone Z2: needs"), std::string::npos) << lines.back();
  EXPECT_EQ(reference_in(story, 0), ReferenceKind::zone_median);
}

TEST(JudgedZone, IsTheMeanAndTheLowestQuarterOfItsUsableEmitters) {
  Story story = test::small_story("story_judged");
  story.survey.emitters.resize(5);
  story.expectation.emitters.clear();
  const double deliveries[] = {1, 0.9, 0.8, 0.1, 0.2};
  for (int i = 0; i < 5; ++i) {
    MeasuredEmitter& emitter = story.survey.emitters[static_cast<std::size_t>(i)];
    emitter.site.zone = 0;
    emitter.placement = Placement::declared;
    emitter.state = i == 4 ? EmitterState::dug_damage : EmitterState::runs;
    JudgedEmitter judged;
    judged.emitter = i;
    judged.delivery = deliveries[i];
    judged.performance = i == 3 ? std::nan("") : deliveries[i];
    story.expectation.emitters.push_back(judged);
  }
  const JudgedZone zone = judged_zone(story, 0);
  EXPECT_EQ(zone.emitters, 4);
  EXPECT_NEAR(zone.mean_delivery, 0.7, 1e-12);
  EXPECT_NEAR(zone.low_delivery, 0.1, 1e-12);
  EXPECT_EQ(zone.with_performance, 3);
  EXPECT_NEAR(zone.mean_performance, 0.9, 1e-12);
  EXPECT_EQ(judged_zone(story, 1).emitters, 0);
  EXPECT_TRUE(std::isnan(judged_zone(story, 1).mean_delivery));
}

}  // namespace
}  // namespace evendrip
