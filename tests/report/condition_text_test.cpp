// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/condition_text.hpp"

#include "evendrip/report/summary.hpp"

#include "conditioned_story.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <sstream>

namespace evendrip {
namespace {

using testing::HasSubstr;
using testing::Not;

/// In one line, so that a wrapped sentence is found.
std::string flat(const std::string& text) {
  std::istringstream words(text);
  std::string out;
  for (std::string word; words >> word;) out += (out.empty() ? "" : " ") + word;
  return out;
}

TEST(ConditionText, IsEmptyWhereNothingWasJudged) {
  Story story = test::small_story("condition_text_none");
  EXPECT_EQ(condition_text(story), "");
  EXPECT_THAT(summary_text(story), Not(HasSubstr("Condition of every emitter")));
}

TEST(ConditionText, TellsUniformityByTheModelBesideThatOfTheSample) {
  const Story& story = test::shared_conditioned_story("condition_text_uniformity");
  EXPECT_THAT(flat(condition_text(story)),
              HasSubstr("all emitters 78 % (90 % limits 75 to 81), plants 84 % (82 to 86). The dug "
                        "emitters alone say 86 %."));
}

TEST(ConditionText, TellsLowPlacesFaultsSharesAndWhatIsNotKnown) {
  const Story& story = test::shared_conditioned_story("condition_text_places");
  const std::string text = flat(condition_text(story));
  const ZoneState& zone = story.condition.zones[0];
  const auto id = [&](int row) {
    return story.field
        .laterals[static_cast<std::size_t>(zone.grid.laterals[static_cast<std::size_t>(row)])]
        .id;
  };
  EXPECT_THAT(text, HasSubstr("Low: laterals " + id(test::weak_first) + " to " +
                              id(test::weak_last) + ", 30 to 60 m: delivery 6"));
  EXPECT_THAT(text, HasSubstr("Fault F1: lateral " + id(test::pinched_row) +
                              ": inlet narrowed, delivery beyond it 73 % of clean."));
  EXPECT_THAT(text, HasSubstr("Next best: emitters clogged along the lateral."));
  EXPECT_THAT(text, HasSubstr("soil 40 %"));
  EXPECT_THAT(text, HasSubstr("Not known: dig or gauge here: lateral " + id(test::open_row)));
  EXPECT_THAT(text, HasSubstr("Crop layer coarse, not used: It spans seven laterals"));
}

TEST(ConditionText, WithoutHolesTellsPlaceAndDeficitAndNoProbability) {
  const Story& story = test::shared_conditioned_story("condition_text_unverified");
  const std::string all = condition_text(story);
  const std::string text = flat(all.substr(all.find("\n  " + story.field.zones[1].id + "  ")));
  EXPECT_THAT(text, HasSubstr("By crop and gauges only, not verified."));
  EXPECT_THAT(text, HasSubstr("The crop follows the laterals and is low: lateral "));
  EXPECT_THAT(text, HasSubstr("20 % of the median"));
  EXPECT_THAT(text, HasSubstr("Whether emitters there are clogged is not known"));
  EXPECT_THAT(text, Not(HasSubstr("robab")));
  EXPECT_THAT(text, Not(HasSubstr("uniformity")));
}

TEST(ConditionText, TellsWhatTheHolesSaidOnce) {
  Story story = test::conditioned_story("condition_text_once");
  ZoneState& zone = story.condition.zones[0];
  const auto times = [&story, &zone] {
    const std::string text = flat(condition_text(story));
    int count = 0;
    for (std::size_t at = text.find(zone.told); at != std::string::npos;
         at = text.find(zone.told, at + 1))
      ++count;
    return count;
  };
  EXPECT_EQ(times(), 1);
  zone.told = zone.voices.front().why = "Foretold to 0.05 with the crop, to 0.09 without.";
  EXPECT_EQ(times(), 1);
}

TEST(ConditionText, NamesTheRunnerUpOfAFaultOnce) {
  Story story = test::conditioned_story("condition_text_runner_up");
  FoundFault& fault = story.condition.zones[0].network.faults.front();
  fault.runner_up = "lateral narrowed at 38 m";
  EXPECT_THAT(flat(condition_text(story)), HasSubstr("Next best: lateral narrowed at 38 m."));
  fault.told += "; nearly as likely: lateral narrowed at 38 m";
  EXPECT_THAT(condition_text(story), Not(HasSubstr("Next best")));
}

TEST(ConditionText, TellsWhatIsNoWaterAndWhatDoesNotStand) {
  Story story = test::conditioned_story("condition_text_doubts");
  test::add_doubts(story.condition.zones[0]);
  const std::string text = flat(condition_text(story));
  EXPECT_THAT(text, HasSubstr("Low in early already, when irrigation could not show: machine or "
                              "soil, not water: lateral "));
  EXPECT_THAT(text, HasSubstr("and coarse contradict each other here: lateral "));
  EXPECT_THAT(text, HasSubstr("Two laterals run with the passes."));
  EXPECT_THAT(text, HasSubstr("Since then the log has flush."));
}

TEST(ConditionText, SaysWhyAZoneWasNotJudged) {
  Story story = test::conditioned_story("condition_text_not_judged");
  ZoneState& zone = story.condition.zones[0];
  zone = {};
  zone.why_not = "it has no laterals";
  EXPECT_THAT(condition_text(story), HasSubstr("not judged: it has no laterals."));
}

TEST(ConditionText, StandsInTheSummaryOfARun) {
  const Story& story = test::shared_conditioned_story("condition_text_summary");
  EXPECT_THAT(summary_text(story), HasSubstr(condition_text(story)));
}

TEST(ConditionText, KeepsToThePage) {
  std::istringstream lines(condition_text(test::shared_conditioned_story("condition_text_page")));
  for (std::string line; std::getline(lines, line);) EXPECT_LE(line.size(), 110U) << line;
}

}  // namespace
}  // namespace evendrip
