// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/rasters.hpp"

#include "evendrip/io/raster_file.hpp"

#include "own_folder.hpp"
#include "small_story.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

/// Compares discharge with relative discharge times a reference, cell by cell; returns the cells.
template <class Reference>
std::size_t compare(const Story& story, const std::filesystem::path& folder,
                    const Reference& reference) {
  const Grid& grid = story.surface.grid();
  const Window all{0, 0, grid.rows, grid.columns};
  const Raster discharge = open_geotiff(folder / "discharge.tif")->read(all);
  const Raster relative = open_geotiff(folder / "relative_discharge.tif")->read(all);
  const std::vector<int> zones = zones_of_cells(story.field, grid, all);
  std::size_t compared = 0;
  for (std::size_t i = 0; i < zones.size(); ++i) {
    EXPECT_EQ(relative.has_value(i), discharge.has_value(i));
    if (zones[i] < 0) {
      EXPECT_EQ(relative.reasons[i], Reason::outside_zones);
    }
    if (!relative.has_value(i)) continue;
    const auto columns = static_cast<std::size_t>(grid.columns);
    const Point place = grid.centre(static_cast<int>(i / columns), static_cast<int>(i % columns));
    EXPECT_NEAR(discharge.values[i], relative.values[i] * reference(place, zones[i]), 1e-5);
    ++compared;
  }
  return compared;
}

TEST(SurfaceRasters, DischargeIsRelativeDischargeTimesWhatACleanSystemGivesThere) {
  const Story& story = test::shared_story("rasters_surface_field");
  const auto folder = test::fresh_folder();
  write_surface_rasters(story, folder, {});
  EXPECT_GT(compare(story, folder,
                    [&story](Point place, int zone) {
                      return story.expectation.at(place, zone)->discharge_lph;
                    }),
            100U);
}

TEST(SurfaceRasters, WithoutHydraulicsDischargeIsRelativeDischargeTimesTheMedianOfTheZone) {
  const Story& story = test::shared_story_without_manifolds("rasters_median_field");
  const auto folder = test::fresh_folder();
  write_surface_rasters(story, folder, {});
  EXPECT_GT(compare(story, folder,
                    [&story](Point, int zone) {
                      return story.surface.zones()[static_cast<std::size_t>(zone)].median_lph;
                    }),
            100U);
  EXPECT_FALSE(std::filesystem::exists(folder / "pressure.tif"));
}

TEST(SurfaceRasters, PressureIsThatOfTheCleanSystemAlongTheNearestLateral) {
  const Story& story = test::shared_story("rasters_pressure_field");
  const auto folder = test::fresh_folder();
  write_surface_rasters(story, folder, {});
  const Grid& grid = story.surface.grid();
  const Window all{0, 0, grid.rows, grid.columns};
  const Raster pressure = open_geotiff(folder / "pressure.tif")->read(all);
  const Lateral& lateral = story.field.laterals.front();
  double before_kpa = 1e9;
  for (const double share : {0.05, 0.35, 0.65, 0.95}) {
    const Point place = place_on_lateral(story.field, 0, share * lateral.length_m);
    const Cell cell = cell_of(grid, place);
    const std::size_t i = grid.index(cell.row, cell.column);
    ASSERT_TRUE(pressure.has_value(i));
    // Half a cell along a lateral changes the pressure by less than this.
    EXPECT_NEAR(pressure.values[i],
                story.expectation.at_station(0, share * lateral.length_m)->pressure_kpa, 0.5);
    EXPECT_LE(pressure.values[i], before_kpa + 0.5);
    before_kpa = pressure.values[i];
  }
  EXPECT_NEAR(before_kpa, story.expectation.zones[0].gauges.inlet_kpa.value, 20);
}

TEST(CropRasters, AreWrittenForEachLayerOnTheSameGrid) {
  const Story& story = test::shared_story("rasters_crop_field");
  const auto folder = test::fresh_folder();
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
  const auto folder = test::fresh_folder();
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
