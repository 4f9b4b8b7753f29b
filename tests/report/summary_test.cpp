// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/summary.hpp"

#include "small_story.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <algorithm>

namespace evendrip {
namespace {

const Doubt note{"n", Severity::note, {}, "a note", "", "", ""};
const Doubt doubt{"d", Severity::doubt, {"a.csv", "", 2, "x"}, "a \"doubt\"", "1", "2", ""};
const Doubt problem{"p", Severity::problem, {"b.csv", "", 7, ""}, "a problem", "", "", "Mend it"};

TEST(DoubtsText, PutsProblemsFirstAndCounts) {
  EXPECT_EQ(doubts_text({note, doubt, problem}),
            "problem: b.csv, row 7: a problem. Mend it [p]\n"
            "doubt: a.csv, row 2, column x: a \"doubt\" (found \"1\", expected 2) [d]\n"
            "note: a note [n]\n"
            "1 problems, 1 doubts, 1 notes: a run would refuse\n");
}

TEST(DoubtsText, CutsManyOfOneKindShortAndCountsThemAll) {
  const std::string text = doubts_text(Doubts(500, problem));
  EXPECT_EQ(std::count(text.begin(), text.end(), '\n'), 21);
  EXPECT_NE(text.find("a problem (and 480 more like it)"), std::string::npos);
  EXPECT_NE(text.find("500 problems"), std::string::npos);
}

TEST(DoubtsText, SaysThatARunCanStartWhereNothingIsWrong) {
  EXPECT_EQ(doubts_text({}), "0 problems, 0 doubts, 0 notes: a run can start\n");
}

TEST(DoubtsJson, SaysWhetherARunWouldRefuseAndEscapesText) {
  const std::string json = doubts_json({doubt});
  EXPECT_NE(json.find("\"run_would_refuse\": false"), std::string::npos);
  EXPECT_NE(json.find("a \\\"doubt\\\""), std::string::npos);
  EXPECT_NE(doubts_json({problem}).find("\"run_would_refuse\": true"), std::string::npos);
}

TEST(SummaryJson, IsReadableAndAgreesWithTheStory) {
  const Story& story = test::shared_story("summary_json");
  const auto json = nlohmann::json::parse(summary_json(story));
  EXPECT_EQ(json["schema"], "evendrip-results/1");
  EXPECT_EQ(json["uniformity"]["zones"].size(), 2U);
  EXPECT_EQ(json["uniformity"]["field"]["emitters"], story.uniformity.field.emitters);
  EXPECT_EQ(json["findings"].size(), story.findings.list.size());
  EXPECT_EQ(json["inputs"].size(), story.field.inputs.size());
}

TEST(SummaryText, SpeaksInTheUnitsOfTheField) {
  Story story = test::small_story("summary_text");
  EXPECT_NE(summary_text(story).find(" L/h"), std::string::npos);
  story.field.report_units = UnitSystem::us;
  EXPECT_NE(summary_text(story).find(" gph"), std::string::npos);
}

TEST(SummaryText, ShowsAsManyDigitsOfARoundMeanAsOfAnyOther) {
  Story story = test::small_story("summary_digits");
  story.uniformity.zones[0].mean_lph = 1;
  story.uniformity.zones[1].mean_lph = 0.987;
  const std::string text = summary_text(story);
  EXPECT_NE(text.find(" 1.00 L/h"), std::string::npos);
  EXPECT_NE(text.find(" 0.987 L/h"), std::string::npos);
}

}  // namespace
}  // namespace evendrip
