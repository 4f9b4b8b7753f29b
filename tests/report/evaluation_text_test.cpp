// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"

namespace evendrip {
namespace {

TEST(EvaluationText, TellsVerdictTableDoubtsAndCautions) {
  const Evaluation e = test::evaluation_of(test::small_field("text_whole"));
  const std::string text = evaluation_text(e);
  for (const char* part :
       {"Small Field, evaluation of survey", "Low-quarter distribution uniformity of the field",
        "Zone Z1", "Zone Z2", "Plugged emitters, a part of their own", "held the true low-quarter",
        "2 zones, ", "What can and cannot be concluded", "Not computed: ", "buried utilities",
        "Local codes and licensed practice come first"}) {
    EXPECT_NE(text.find(part), std::string::npos) << part;
  }
  EXPECT_EQ(text.find("nan"), std::string::npos);
}

TEST(EvaluationText, StaysWithinTheWidthOfATerminalTable) {
  const Evaluation e = test::evaluation_of(test::small_field("text_width"));
  std::istringstream lines(evaluation_text(e));
  for (std::string line; std::getline(lines, line);) {
    const auto letters =
        std::count_if(line.begin(), line.end(), [](char c) { return (c & 0xC0) != 0x80; });
    EXPECT_LE(letters, 130) << line;
  }
}

TEST(EvaluationText, TellsAStatementOfSeveralZonesOnce) {
  const Evaluation e = test::evaluation_of(test::small_field("text_once"));
  const auto texts = conclusions_of(e);
  auto sorted = texts;
  std::sort(sorted.begin(), sorted.end());
  EXPECT_EQ(std::adjacent_find(sorted.begin(), sorted.end()), sorted.end());
}

}  // namespace
}  // namespace evendrip
