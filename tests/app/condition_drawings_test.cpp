// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/condition_drawings.hpp"

#include "evendrip/maps/style.hpp"

#include "../../src/app/condition_rasters.hpp"
#include "conditioned_story.hpp"
#include "own_folder.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

std::filesystem::path drawn(const Story& story) {
  const auto folder = test::fresh_folder();
  write_condition_rasters(story, folder, {});
  EXPECT_TRUE(draw_condition(story, folder, {}).empty());
  return folder;
}

TEST(DrawCondition, LaysDownASheetAFrameAndAStyleForEachMap) {
  const auto folder = drawn(test::conditioned_story("condition_drawings_field"));
  for (const std::string name :
       {"delivery", "delivery_error", "performance", "probability_delivery_low",
        "probability_performance_clogged", "water_shaped_crop"}) {
    for (const std::string& file : {"sheets/" + name + ".png", "sheets/" + name + ".pdf",
                                    "frames/" + name + ".png", "frames/" + name + ".pgw"})
      EXPECT_TRUE(std::filesystem::exists(folder / file)) << file;
  }
  EXPECT_TRUE(std::filesystem::exists(folder / "sheets/condition_parts.png"));
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() != ".tif") continue;
    auto style = entry.path();
    style.replace_extension(".sld");
    ASSERT_TRUE(std::filesystem::exists(style)) << style;
    EXPECT_TRUE(read_style(style).colour_map.has_value()) << style;
  }
}

TEST(DrawCondition, DrawsNoEmittersWhereAllZonesWereToldWithoutHoles) {
  Story story = test::conditioned_story("condition_drawings_unverified_field");
  story.condition.zones[0] = {};
  const auto folder = drawn(story);
  EXPECT_TRUE(std::filesystem::exists(folder / "sheets/water_shaped_crop.png"));
  EXPECT_FALSE(std::filesystem::exists(folder / "sheets/delivery.png"));
  EXPECT_FALSE(std::filesystem::exists(folder / "sheets/probability_performance_clogged.png"));
}

TEST(DrawCondition, DrawsNothingWhereNothingWasJudged) {
  const auto folder = drawn(test::small_story("condition_drawings_none_field"));
  EXPECT_TRUE(std::filesystem::is_empty(folder));
}

}  // namespace
}  // namespace evendrip
