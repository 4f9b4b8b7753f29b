// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/drawings.hpp"

#include "../../src/app/rasters.hpp"
#include "own_folder.hpp"
#include "small_story.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(DrawEverything, LaysDownASheetAFrameAndAStyleForEachMap) {
  Story story = test::small_story("drawings_field");
  story.crop_of_findings = story.crops.front().layer.id;
  const auto folder = test::fresh_folder();
  write_surface_rasters(story, folder, {});
  EXPECT_TRUE(draw_everything(story, folder, {}).empty());
  for (const std::string& name : {std::string("discharge"), std::string("relative_discharge"),
                                  std::string("relative_discharge_error"), std::string("pressure"),
                                  "crop_" + story.crop_of_findings, std::string("findings")}) {
    for (const std::string& file :
         {"sheets/" + name + ".png", "sheets/" + name + ".pdf", "frames/" + name + ".png",
          "frames/" + name + ".pgw", name + ".sld"}) {
      EXPECT_TRUE(std::filesystem::exists(folder / file)) << file;
    }
  }
}

TEST(DrawEverything, LeavesOutThePressureSheetWhereNoZoneIsComputed) {
  const Story& story = test::shared_story_without_manifolds("drawings_median_field");
  const auto folder = test::fresh_folder();
  write_surface_rasters(story, folder, {});
  EXPECT_TRUE(draw_everything(story, folder, {}).empty());
  EXPECT_TRUE(std::filesystem::exists(folder / "sheets/relative_discharge.png"));
  EXPECT_FALSE(std::filesystem::exists(folder / "sheets/pressure.png"));
  EXPECT_FALSE(std::filesystem::exists(folder / "pressure.sld"));
}

TEST(DrawEverything, SaysWhereTheBundledFontLacksALetter) {
  Story story = test::small_story("drawings_letters_field");
  story.field.name = "\xe9\xb7\xba\xe7\x94\xb0";  // two CJK characters
  const auto folder = test::fresh_folder();
  write_surface_rasters(story, folder, {});
  const Doubts doubts = draw_everything(story, folder, {});
  ASSERT_FALSE(doubts.empty());
  EXPECT_EQ(doubts.front().code, "font_of_the_system");
}

}  // namespace
}  // namespace evendrip
