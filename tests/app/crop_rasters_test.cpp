// SPDX-License-Identifier: Apache-2.0
#include "../../src/app/crop_rasters.hpp"

#include "evendrip/io/raster_file.hpp"

#include "made_crop.hpp"
#include "own_folder.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(HeardRasters, HoldTheValuesWithTheirNamesAndUnits) {
  const HeardCrop heard = test::made_crop(test::small_field("crop_rasters_field"));
  const auto folder = test::fresh_folder();
  write_heard_rasters(heard, folder, {});
  const RasterInfo yield = raster_info({folder / "crop_2025-yield.tif", "", "yield"});
  ASSERT_GE(yield.bands, 3);
  EXPECT_EQ(yield.band_names[0], "yield");
  EXPECT_EQ(yield.band_units[0], "t/ha");
  EXPECT_EQ(yield.band_names[2], "standard_error");
  const RasterInfo warm = raster_info({folder / "crop_warm.tif", "", "warm"});
  EXPECT_EQ(warm.bands, yield.bands - 1);
  const Window all{0, 0, heard.grid.rows, heard.grid.columns};
  const Raster written = open_geotiff(folder / "crop_2025-yield.tif")->read(all);
  const Raster meant = heard.layers[0].layer.values->read(all);
  for (std::size_t i = 0; i < meant.values.size(); ++i) {
    ASSERT_EQ(written.has_value(i), meant.has_value(i));
    if (!meant.has_value(i)) continue;
    ASSERT_EQ(written.values[i], meant.values[i]);
  }
}

TEST(HeardRasters, WriteSeasonsOnlyWhereThereAreSome) {
  HeardCrop heard = test::made_crop(test::small_field("crop_rasters_seasons_field"));
  const auto folder = test::fresh_folder("with");
  write_heard_rasters(heard, folder, {});
  EXPECT_EQ(raster_info({folder / "stability.tif", "", "stability"}).band_names[1], "variation");
  EXPECT_EQ(raster_info({folder / "stability_biomass_2025.tif", "", "stability"}).band_names[2],
            "low_dates");
  heard.over_dates.clear();
  const auto without = test::fresh_folder("without");
  write_heard_rasters(heard, without, {});
  EXPECT_FALSE(std::filesystem::exists(without / "stability.tif"));
  EXPECT_FALSE(std::filesystem::exists(without / "stability_biomass_2025.tif"));
}

}  // namespace
}  // namespace evendrip
