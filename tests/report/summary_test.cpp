// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/summary.hpp"

#include <gtest/gtest.h>

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

TEST(DoubtsText, SaysThatARunCanStartWhereNothingIsWrong) {
  EXPECT_EQ(doubts_text({}), "0 problems, 0 doubts, 0 notes: a run can start\n");
}

TEST(DoubtsJson, SaysWhetherARunWouldRefuseAndEscapesText) {
  const std::string json = doubts_json({doubt});
  EXPECT_NE(json.find("\"run_would_refuse\": false"), std::string::npos);
  EXPECT_NE(json.find("a \\\"doubt\\\""), std::string::npos);
  EXPECT_NE(doubts_json({problem}).find("\"run_would_refuse\": true"), std::string::npos);
}

}  // namespace
}  // namespace evendrip
