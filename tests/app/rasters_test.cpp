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

class CountingReader : public RasterReader {
 public:
  CountingReader(std::shared_ptr<const RasterReader> reader, std::size_t& reads)
      : reader_(std::move(reader)), reads_(reads) {}
  const Grid& grid() const override { return reader_->grid(); }
  Raster read(const Window& window) const override {
    ++reads_;
    return reader_->read(window);
  }

 private:
  std::shared_ptr<const RasterReader> reader_;
  std::size_t& reads_;
};

TEST(CropRasters, HoldValueAndIndexFromOneReadingOfEachBlock) {
  Story story = test::small_story("rasters_crop_read_once_field");
  const auto folder = fresh("rasters_crop_read_once");
  story.crops.resize(1);
  CropLayer& layer = story.crops.front().layer;
  const Grid& grid = story.surface.grid();
  const Raster index = layer.relative->read({0, 0, grid.rows, grid.columns});
  std::size_t reads = 0;
  layer.values = std::make_shared<CountingReader>(layer.values, reads);
  layer.relative = std::make_shared<CountingReader>(layer.relative, reads);
  write_crop_rasters(story, folder, {});
  EXPECT_EQ(reads, row_blocks(grid, 256).size());
  FileRef file;
  file.path = folder / ("crop_" + layer.id + ".tif");
  file.as_written = file.path.filename().string();
  const Raster written =
      open_raster_on_grid(file, 2, grid, story.field.crs)->read({0, 0, grid.rows, grid.columns});
  for (std::size_t i = 0; i < index.values.size(); ++i) {
    ASSERT_EQ(written.has_value(i), index.has_value(i));
    if (!index.has_value(i)) continue;
    EXPECT_EQ(written.values[i], index.values[i]);
  }
}

}  // namespace
}  // namespace evendrip
