// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/crop_story.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "made_crop.hpp"

namespace evendrip {
namespace {

TEST(CropStory, NamesLayersByKindIdAndDate) {
  HeardLayer heard;
  heard.layer.kind = "biomass";
  heard.layer.id = "july";
  EXPECT_EQ(title_of(heard), "Biomass, july");
  heard.layer.date = "2025-07-24";
  heard.index = IndexLayer{};
  heard.index->name = "NDVI";
  EXPECT_EQ(title_of(heard), "NDVI, july of 2025-07-24");
  heard.index->name = "red-edge index";
  EXPECT_EQ(title_of(heard), "Red-edge index, july of 2025-07-24");
  heard.index.reset();
  heard.layer.kind = "canopy_temperature";
  EXPECT_EQ(title_of(heard), "Canopy temperature, july of 2025-07-24");
}

TEST(CropStory, RecordsMethodsInputsAndSeed) {
  const HeardCrop heard = test::made_crop(test::small_field("crop_story"));
  const auto record = record_of(heard);
  const auto value = [&](const std::string& key) {
    const auto found = std::find_if(record.begin(), record.end(),
                                    [&](const auto& entry) { return entry.first == key; });
    return found == record.end() ? "" : found->second;
  };
  EXPECT_EQ(value("seed"), "7");
  EXPECT_EQ(value("method 2025-yield"), "how 2025-yield was made");
  EXPECT_EQ(value("method over dates yield"), "mean of three");
  EXPECT_EQ(value("survey"), "2026");
  EXPECT_EQ(value("sha256 field.toml").size(), 64U);
}

TEST(CropStory, GathersTheDoubtsOfAllParts) {
  HeardCrop heard = test::made_crop(test::small_field("crop_story_doubts"));
  const std::size_t before = doubts_of(heard).size();
  const Doubt doubt{"odd", Severity::doubt, {}, "odd", "", "", ""};
  heard.layers.front().water.doubts.push_back(doubt);
  heard.layers.back().screening.doubts.push_back(doubt);
  EXPECT_EQ(doubts_of(heard).size(), before + 2);
}

}  // namespace
}  // namespace evendrip
