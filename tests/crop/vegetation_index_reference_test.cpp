// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/vegetation_index.hpp"

#include "evendrip/io/raster_file.hpp"
#include "invented_field.hpp"
#include "own_folder.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

namespace evendrip {
namespace {

constexpr int first_column = 90;
constexpr int first_row = 60;
constexpr int pixels = 120;  ///< along a side

/// NDVI of the Landsat scene that the R package stars ships, computed there.
class LandsatScene : public ::testing::Test {
 protected:
  void SetUp() override {
    if (std::system("Rscript -e 'quit(status = !requireNamespace(\"stars\", quietly = TRUE))' "
                    ">/dev/null 2>&1") != 0) {
      GTEST_SKIP() << "R stars is not installed";
    }
    const auto folder = test::fresh_folder();
    const auto out = folder / "out.txt";
    const std::string command =
        "Rscript '" + (std::filesystem::path(EVENDRIP_TEST_DATA) / "crop/ndvi_stars.R").string() +
        "' " + std::to_string(first_column) + " " + std::to_string(first_row) + " " +
        std::to_string(pixels) + " '" + out.string() + "' 2>'" +
        (folder / "messages.txt").string() + "'";
    ASSERT_EQ(std::system(command.c_str()), 0);
    std::ifstream in(out);
    std::string file;
    std::getline(in, file);
    source_.id = "landsat";
    source_.kind = "biomass";
    source_.file = {file, "", "L7_ETMs.tif"};
    source_.bands = {3, 0, 4};
    for (double value = 0; in >> value;) ndvi_.push_back(value);
    ASSERT_EQ(ndvi_.size(), std::size_t{pixels * pixels + pixels * pixels / 9});
    lay_field();
  }

  /// A zone of exactly the pixels of the square.
  void lay_field() {
    const RasterInfo info = raster_info(source_.file);
    pixel_m_ = info.extent.width() / info.columns;
    grid_ = {info.extent.x_min + first_column * pixel_m_, info.extent.y_max - first_row * pixel_m_,
             pixel_m_, pixels, pixels};
    field_.crs = field_.stated_crs = info.crs;
    const Extent extent = grid_.extent();
    Zone zone;
    zone.id = "square";
    zone.area = invented::rectangle(extent.x_min, extent.y_min, extent.width(), extent.height());
    field_.zones.push_back(zone);
  }

  Raster read(int joined) const {
    Grid grid = grid_;
    grid.cell_m *= joined;
    grid.columns /= joined;
    grid.rows /= joined;
    const IndexLayer layer = open_index(field_, source_, grid, {});
    return layer.values->read({0, 0, grid.rows, grid.columns});
  }

  Field field_;
  CropSource source_;
  Grid grid_;
  double pixel_m_ = 0;
  std::vector<double> ndvi_;
};

TEST_F(LandsatScene, HasTheNdviThatRComputesOfEachPixel) {
  source_.full_scale = 255;
  const Raster ours = read(1);
  for (std::size_t i = 0; i < ours.values.size(); ++i) {
    ASSERT_TRUE(ours.has_value(i));
    ASSERT_NEAR(ours.values[i], ndvi_[i], 1e-6) << i;
  }
}

TEST_F(LandsatScene, HasTheNdviThatRComputesOfTheMeanBandsOfNinePixels) {
  source_.full_scale = 255;
  const Raster ours = read(3);
  for (std::size_t i = 0; i < ours.values.size(); ++i)
    ASSERT_NEAR(ours.values[i], ndvi_[pixels * pixels + i], 1e-6) << i;
}

TEST_F(LandsatScene, IsToldToHoldDigitalNumbers) {
  const IndexLayer layer = open_index(field_, source_, grid_, {});
  bool told = false;
  for (const Doubt& doubt : layer.doubts) {
    if (doubt.code != "crop_scale_not_stated") continue;
    told = true;
    EXPECT_NE(doubt.remedy.find("255"), std::string::npos) << doubt.remedy;
  }
  EXPECT_TRUE(told);
}

}  // namespace
}  // namespace evendrip
