// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/drawn_sheets.hpp"

#include "own_folder.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(DrawnSheets, LieThereAsPictureAndPdfAndTellForeignLetters) {
  const auto folder = test::fresh_folder();
  Sheet plain;
  plain.title = "Plain";
  plain.extent = {0, 0, 100, 60};
  Sheet foreign = plain;
  foreign.field = "\xe9\xb7\xba";  // a CJK character
  Doubts doubts;
  draw_sheets({{"plain", plain}, {"foreign", foreign}}, find_map_resources(), folder, {}, doubts);
  for (const char* file : {"plain.png", "plain.pdf", "foreign.png", "foreign.pdf"}) {
    EXPECT_TRUE(std::filesystem::exists(folder / file)) << file;
  }
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts.front().code, "font_of_the_system");
  EXPECT_EQ(doubts.front().place.file, "sheets/foreign");
}

}  // namespace
}  // namespace evendrip
