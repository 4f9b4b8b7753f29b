// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/text_lines.hpp"

#include <gtest/gtest.h>

#include <sstream>

namespace evendrip {
namespace {

TEST(TextLines, CountLettersAndNotBytes) {
  EXPECT_EQ(shown_width("Größe"), 5U);
  EXPECT_EQ(padded("Größe", 7), "Größe  ");
  EXPECT_EQ(padded("too long", 3), "too long");
}

TEST(TextLines, BreakBetweenWordsAndNowhereElse) {
  const std::vector<std::string> expected = {"one two", "three", "incomprehensible", "x"};
  EXPECT_EQ(lines_of("one two  three\nincomprehensible x", 8), expected);
  EXPECT_EQ(lines_of("", 8), std::vector<std::string>{""});
}

TEST(TextLines, LeadTheFirstLineAndIndentTheRest) {
  std::string words;
  for (int i = 0; i < 40; ++i) words += "word ";
  std::istringstream lines(wrapped("  - ", words));
  std::string line;
  int number = 0;
  while (std::getline(lines, line)) {
    EXPECT_LE(line.size(), page_width);
    EXPECT_EQ(line.substr(0, 4), number++ == 0 ? "  - " : "    ");
  }
  EXPECT_EQ(number, 3);
}

TEST(TextLines, MakeASentenceOfWhatAnotherPartSays) {
  EXPECT_EQ(as_sentence("the curve is flat"), "The curve is flat.");
  EXPECT_EQ(as_sentence("Done. Why?"), "Done. Why?");
  EXPECT_EQ(as_sentence(""), "");
}

}  // namespace
}  // namespace evendrip
