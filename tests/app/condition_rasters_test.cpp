// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/condition_rasters.hpp"

#include "evendrip/io/raster_file.hpp"

#include "conditioned_story.hpp"
#include "own_folder.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

Window whole(const Story& story) {
  const Grid& grid = story.surface.grid();
  return {0, 0, grid.rows, grid.columns};
}

/// Of each cell of the first zone the segment of the lateral that is nearest.
template <class Visit>
std::size_t for_each_cell(const Story& story, const Visit& visit) {
  const SiteMap sites(story.field, story.surface.grid());
  const ZoneState& zone = story.condition.zones[0];
  const std::vector<Site> cells = sites.over(whole(story));
  std::size_t visited = 0;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (cells[i].zone != 0) continue;
    const int row = zone.grid.row_of(cells[i].lateral);
    const int station = zone.grid.station_of(cells[i].station_m);
    for (const SegmentCondition& one : zone.segments) {
      if (one.row != row || one.station != station) continue;
      visit(i, one);
      ++visited;
    }
  }
  return visited;
}

TEST(ConditionRasters, GiveEachCellTheSegmentOfTheLateralThatFeedsIt) {
  const Story& story = test::shared_conditioned_story("condition_rasters_field");
  const auto folder = test::fresh_folder();
  write_condition_rasters(story, folder, {});
  const Window all = whole(story);
  const auto read = [&](const char* name, int band = 1) {
    return open_geotiff(folder / name, band)->read(all);
  };
  const Raster delivery = read("delivery.tif"), error = read("delivery_error.tif");
  const Raster lower = read("delivery_limits.tif"), upper = read("delivery_limits.tif", 2);
  const Raster performance = read("performance.tif");
  const Raster p_low = read("probability_delivery_low.tif");
  const Raster p_clogged = read("probability_performance_clogged.tif");
  const Raster network = read("condition_network.tif"), local = read("condition_local.tif");
  const std::size_t cells = for_each_cell(story, [&](std::size_t i, const SegmentCondition& one) {
    EXPECT_FLOAT_EQ(delivery.values[i], static_cast<float>(one.delivery.value));
    EXPECT_FLOAT_EQ(error.values[i], static_cast<float>(one.delivery.sd));
    EXPECT_FLOAT_EQ(lower.values[i], static_cast<float>(one.delivery.lower_90));
    EXPECT_FLOAT_EQ(upper.values[i], static_cast<float>(one.delivery.upper_90));
    EXPECT_FLOAT_EQ(performance.values[i], static_cast<float>(one.performance.value));
    EXPECT_FLOAT_EQ(p_low.values[i], static_cast<float>(one.p_low));
    EXPECT_FLOAT_EQ(p_clogged.values[i], static_cast<float>(one.p_clogged));
    EXPECT_FLOAT_EQ(network.values[i], one.row == test::pinched_row ? -0.27F : 0.0F);
    const auto& grid = story.condition.zones[0].grid;
    EXPECT_FLOAT_EQ(local.values[i], test::is_weak(grid, one.row, one.station) ? -0.32F : 0.0F);
  });
  EXPECT_GT(cells, 300U);
}

TEST(ConditionRasters, MarkCellsWithoutAVerdictButNotTheirStandardErrors) {
  const Story& story = test::shared_conditioned_story("condition_rasters_verdict_field");
  const ConditionCells cells(story);
  const ConditionPart part = cells.over(whole(story));
  std::size_t open = 0;
  for_each_cell(story, [&](std::size_t i, const SegmentCondition& one) {
    const bool not_known = verdict_on(one, story.field.thresholds) == WaterVerdict::not_known;
    const Reason reason = not_known ? Reason::too_uncertain : Reason::value;
    EXPECT_EQ(part.delivery.reasons[i], reason);
    EXPECT_EQ(part.p_low.reasons[i], reason);
    EXPECT_EQ(part.delivery_sd.reasons[i], Reason::value);
    open += not_known ? 1U : 0U;
  });
  EXPECT_GT(open, 10U);
}

TEST(ConditionRasters, WithoutHolesTellTheCropAndNothingOfEmitters) {
  const Story& story = test::shared_conditioned_story("condition_rasters_unverified_field");
  const auto folder = test::fresh_folder();
  write_condition_rasters(story, folder, {});
  const Window all = whole(story);
  const Raster crop = open_geotiff(folder / "water_shaped_crop.tif")->read(all);
  const Raster p_clogged = open_geotiff(folder / "probability_performance_clogged.tif")->read(all);
  const Raster delivery = open_geotiff(folder / "delivery.tif")->read(all);
  const std::vector<int> zones = zones_of_cells(story.field, story.surface.grid(), all);
  std::size_t low = 0;
  for (std::size_t i = 0; i < zones.size(); ++i) {
    if (zones[i] < 0) {
      EXPECT_EQ(delivery.reasons[i], Reason::outside_zones);
      EXPECT_EQ(crop.reasons[i], Reason::outside_zones);
    }
    if (zones[i] == 0) {
      EXPECT_EQ(crop.reasons[i], Reason::not_computed);
    }
    if (zones[i] != 1) continue;
    EXPECT_EQ(delivery.reasons[i], Reason::too_few);
    EXPECT_EQ(p_clogged.reasons[i], Reason::too_few);
    ASSERT_TRUE(crop.has_value(i));
    low += crop.values[i] < 0.9F ? 1U : 0U;
  }
  EXPECT_GT(low, 20U);
}

TEST(CropCells, TakeTheNearestDatumOfTheZoneWithinReach) {
  Story story = test::conditioned_story("condition_soil_field");
  const Point first = story.condition.zones[0].crop_places.front();
  {
    const CropCells crop(story);
    EXPECT_TRUE(crop.any() && crop.any_edge() && crop.any_ground());
    const auto near = crop.at({first.x + 1, first.y + 1}, 0);
    ASSERT_TRUE(near);
    EXPECT_DOUBLE_EQ(near->soil, 0.07);
    EXPECT_DOUBLE_EQ(near->edge, -0.04);
    EXPECT_DOUBLE_EQ(near->ground, 0.03);
    // 1.5 times the root of half the zone's ground is some 40 m.
    EXPECT_FALSE(crop.at({first.x + 250, first.y}, 0));
    EXPECT_DOUBLE_EQ(crop.at({first.x + 499, first.y}, 0).value().soil, -0.2);
    EXPECT_FALSE(crop.at(first, 1));
    EXPECT_FALSE(crop.at(first, -1));
  }
  story.condition.zones[0].crop_places.pop_back();  // of other data than the soil
  EXPECT_FALSE(CropCells(story).any());
}

TEST(ConditionRasters, ShowWhatOfTheCropIsNoWaterWhereItIsInTheEstimate) {
  const Story& story = test::shared_conditioned_story("condition_rasters_soil_field");
  const auto folder = test::fresh_folder();
  write_condition_rasters(story, folder, {});
  const Grid& grid = story.surface.grid();
  const Raster soil = open_geotiff(folder / "condition_soil.tif")->read(whole(story));
  const Raster edge = open_geotiff(folder / "condition_edge.tif")->read(whole(story));
  const Raster ground = open_geotiff(folder / "condition_ground.tif")->read(whole(story));
  const Point first = story.condition.zones[0].crop_places.front();
  const std::vector<int> zones = zones_of_cells(story.field, grid, whole(story));
  std::size_t shown = 0;
  for (std::size_t i = 0; i < zones.size(); ++i) {
    const auto columns = static_cast<std::size_t>(grid.columns);
    const Point centre = grid.centre(static_cast<int>(i / columns), static_cast<int>(i % columns));
    if (zones[i] == 1) {
      EXPECT_EQ(soil.reasons[i], Reason::no_source);
    }
    if (zones[i] != 0 || distance_m(centre, first) > 10) continue;
    EXPECT_FLOAT_EQ(soil.values[i], 0.07F);
    EXPECT_FLOAT_EQ(edge.values[i], -0.04F);
    EXPECT_FLOAT_EQ(ground.values[i], 0.03F);
    ++shown;
  }
  EXPECT_GT(shown, 20U);
}

TEST(ConditionRasters, LeaveOutPartsThatNoZoneHas) {
  Story story = test::conditioned_story("condition_rasters_no_edge_field");
  ConditionEstimate& estimate = story.condition.zones[0].condition.estimate;
  estimate.edge = estimate.ground = {0, 0};
  const auto folder = test::fresh_folder();
  write_condition_rasters(story, folder, {});
  EXPECT_TRUE(std::filesystem::exists(folder / "condition_soil.tif"));
  EXPECT_FALSE(std::filesystem::exists(folder / "condition_edge.tif"));
  EXPECT_FALSE(std::filesystem::exists(folder / "condition_ground.tif"));
}

TEST(ConditionRasters, AreTheSameByBlocksAsAtOnce) {
  const Story& story = test::shared_conditioned_story("condition_rasters_blocks_field");
  const ConditionCells cells(story);
  const Grid& grid = story.surface.grid();
  const ConditionPart all = cells.over(whole(story));
  const Window lower_half{grid.rows / 2, 0, grid.rows - grid.rows / 2, grid.columns};
  const ConditionPart part = cells.over(lower_half);
  const std::size_t offset = grid.index(grid.rows / 2, 0);
  for (std::size_t i = 0; i < part.delivery.values.size(); ++i) {
    ASSERT_EQ(part.delivery.reasons[i], all.delivery.reasons[offset + i]);
    if (part.delivery.has_value(i)) {
      ASSERT_EQ(part.delivery.values[i], all.delivery.values[offset + i]);
    }
  }
}

TEST(ConditionRasters, AreNotWrittenWhereNothingWasJudged) {
  const Story& story = test::shared_story("condition_rasters_none_field");
  const auto folder = test::fresh_folder();
  write_condition_rasters(story, folder, {});
  EXPECT_TRUE(std::filesystem::is_empty(folder));
}

TEST(ConditionRasters, LeaveOutTheCropWhereAllWasToldByHoles) {
  Story story = test::conditioned_story("condition_rasters_holes_field");
  story.condition.zones[1].unverified_crop.clear();
  const auto folder = test::fresh_folder();
  write_condition_rasters(story, folder, {});
  EXPECT_FALSE(std::filesystem::exists(folder / "water_shaped_crop.tif"));
}

TEST(ConditionRasters, HeedARequestToStop) {
  const Story& story = test::shared_conditioned_story("condition_rasters_stop_field");
  std::stop_source source;
  source.request_stop();
  Work work;
  work.stop = source.get_token();
  EXPECT_THROW(write_condition_rasters(story, test::fresh_folder(), work), Interrupted);
}

}  // namespace
}  // namespace evendrip
