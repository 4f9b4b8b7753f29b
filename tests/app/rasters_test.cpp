// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/rasters.hpp"

#include "evendrip/io/raster_file.hpp"

#include "small_story.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

std::filesystem::path fresh(const std::string& name) {
  const auto folder = std::filesystem::path(EVENDRIP_TEST_OUTPUT) / name;
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  return folder;
}

TEST(SurfaceRasters, DischargeIsRelativeDischargeTimesTheMedianOfTheZone) {
  const Story story = test::small_story("rasters_surface_field");
  const auto folder = fresh("rasters_surface");
  write_surface_rasters(story, folder, {});
  const Grid& grid = story.surface.grid();
  const Window all{0, 0, grid.rows, grid.columns};
  const Raster discharge = open_geotiff(folder / "discharge.tif")->read(all);
  const Raster relative = open_geotiff(folder / "relative_discharge.tif")->read(all);
  const std::vector<int> zones = zones_of_cells(story.field, grid, all);
  std::size_t compared = 0;
  for (std::size_t i = 0; i < zones.size(); ++i) {
    ASSERT_EQ(relative.has_value(i), discharge.has_value(i));
    if (zones[i] < 0) {
      EXPECT_EQ(relative.reasons[i], Reason::outside_zones);
    }
    if (!relative.has_value(i)) continue;
    const double median = story.surface.zones()[static_cast<std::size_t>(zones[i])].median_lph;
    EXPECT_NEAR(discharge.values[i], relative.values[i] * median, 1e-5);
    ++compared;
  }
  EXPECT_GT(compared, 100U);
}

TEST(CropRasters, AreWrittenForEachLayerOnTheSameGrid) {
  const Story story = test::small_story("rasters_crop_field");
  const auto folder = fresh("rasters_crop");
  write_crop_rasters(story, folder, {});
  ASSERT_FALSE(story.crops.empty());
  for (const CropStory& crop : story.crops) {
    EXPECT_EQ(open_geotiff(folder / ("crop_" + crop.layer.id + ".tif"))->grid(),
              story.surface.grid());
  }
}

}  // namespace
}  // namespace evendrip
