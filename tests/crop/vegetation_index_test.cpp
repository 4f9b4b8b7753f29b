// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/vegetation_index.hpp"

#include "raster_source.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using invented::Bands;
using invented::raster_file;
using invented::raster_source;
using invented::small_field;
using invented::small_grid;
using invented::south;
using invented::west;
using ::testing::HasSubstr;

Raster whole(const RasterReader& reader) {
  return reader.read({0, 0, reader.grid().rows, reader.grid().columns});
}

std::vector<std::string> codes_of(const Doubts& doubts) {
  std::vector<std::string> codes;
  for (const Doubt& doubt : doubts) codes.push_back(doubt.code);
  return codes;
}

std::string refusal_of(const CropSource& source) {
  try {
    open_index(small_field(), source, small_grid(1), {});
  } catch (const InputError& error) {
    return error.problems().front().code;
  }
  return "";
}

/// Pixels of `pixel_m` over the small field and 10 m around it.
Grid wide_pixels(double pixel_m) {
  return {west - 10, south + 40, pixel_m, static_cast<int>(60 / pixel_m),
          static_cast<int>(50 / pixel_m)};
}

TEST(NormalisedDifference, IsBoundedAndNothingWithoutLight) {
  EXPECT_DOUBLE_EQ(normalised_difference(0.5, 0.05), 0.45 / 0.55);
  EXPECT_DOUBLE_EQ(normalised_difference(0.05, 0.5), -0.45 / 0.55);
  EXPECT_TRUE(std::isnan(normalised_difference(0, 0)));
  EXPECT_TRUE(std::isnan(normalised_difference(-0.1, 0.05)));
}

CropSource two_bands(const std::string& name, double scale = 1, GDALDataType type = GDT_Float32) {
  // Red 0.05, near infrared 0.40 in W and 0.30 in E.
  CropSource source =
      raster_source(name, "biomass", {small_grid(1), 2, type, "", ""}, [scale](int band, Point p) {
        const double infrared = p.x < west + 20 ? 0.40 : 0.30;
        return scale * (band == 1 ? 0.05 : infrared);
      });
  source.bands = {1, 0, 2};
  return source;
}

TEST(OpenIndex, MakesNdviOfItsBands) {
  const IndexLayer layer = open_index(small_field(), two_bands("ndvi.tif"), small_grid(1), {});
  const Raster raster = whole(*layer.values);
  EXPECT_NEAR(raster.values[0], 0.35 / 0.45, 1e-6);
  EXPECT_NEAR(raster.values[39], 0.25 / 0.35, 1e-6);
  EXPECT_EQ(layer.name, "NDVI");
  EXPECT_EQ(layer.saturated_share, 0);
  EXPECT_NEAR(layer.pixel_m, 1, 0.001);
  EXPECT_TRUE(layer.doubts.empty());
}

TEST(OpenIndex, MakesARedEdgeIndexOfItsBands) {
  CropSource source = two_bands("red_edge.tif");
  source.bands = {0, 1, 2};
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  EXPECT_EQ(layer.name, "red-edge index");
  EXPECT_NEAR(whole(*layer.values).values[0], 0.35 / 0.45, 1e-6);
}

TEST(OpenIndex, TakesTheIndexOfTheCellsMeanBands) {
  // Leaves (red 0.04, infrared 0.50) and dark shadow (0.02, 0.03) in every second column.
  CropSource source = raster_source(
      "mixed.tif", "biomass", {small_grid(0.5), 2, GDT_Float32, "", ""}, [](int band, Point p) {
        const bool leaf = std::fmod(p.x - west, 1) < 0.5;
        return band == 1 ? (leaf ? 0.04 : 0.02) : (leaf ? 0.50 : 0.03);
      });
  source.bands = {1, 0, 2};
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  const double of_means = (0.265 - 0.03) / (0.265 + 0.03);
  const double mean_of_indices = 0.5 * (0.46 / 0.54 + 0.01 / 0.05);
  EXPECT_NEAR(whole(*layer.values).values[100], of_means, 1e-6);
  EXPECT_GT(std::abs(of_means - mean_of_indices), 0.2);
}

TEST(OpenIndex, TellsWhereNdviSaturates) {
  CropSource source =
      raster_source("closed.tif", "biomass", {small_grid(1), 1, GDT_Float32, "", "NDVI"},
                    [](int, Point p) { return p.x < west + 10 ? 0.90 : 0.70; });
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  EXPECT_NEAR(layer.saturated_share, 0.25, 1e-9);
  EXPECT_THAT(codes_of(layer.doubts), ::testing::ElementsAre("ndvi_saturated"));
  source.file = raster_file("other.tif", {small_grid(1), 1, GDT_Float32, "", "cover"},
                            [](int, Point) { return 0.90; });
  EXPECT_EQ(open_index(small_field(), source, small_grid(1), {}).saturated_share, 0);
}

TEST(OpenIndex, LeavesOutPixelsThatStraddleTheOuterLimitOnly) {
  // Bare ground of 0.2 around a crop of 0.8; pixels of 4 m of which none fits the zones' edges.
  const Grid pixels{west - 9, south + 41, 4, 15, 13};
  const CropSource source =
      raster_source("edge.tif", "biomass", {pixels, 1, GDT_Float32, "", ""}, [&](int, Point p) {
        const double x_inside = std::min(p.x + 2, west + 40) - std::max(p.x - 2, west);
        const double y_inside = std::min(p.y + 2, south + 30) - std::max(p.y - 2, south);
        const double share = std::max(0.0, x_inside) * std::max(0.0, y_inside) / 16;
        return 0.2 + 0.6 * share;
      });
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  const Raster raster = whole(*layer.values);
  std::size_t with_value = 0;
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    if (!raster.has_value(i)) continue;
    ++with_value;
    ASSERT_NEAR(raster.values[i], 0.8, 1e-6);
  }
  // Pixels wholly inside: x from 3 to 39 (also over the border of W and E), y from 1 to 29.
  EXPECT_EQ(with_value, 36U * 28);
  EXPECT_NEAR(layer.edge_share, 1 - 36.0 * 28 / 1200, 1e-9);
  EXPECT_THAT(codes_of(layer.doubts), ::testing::ElementsAre("crop_edge_pixels"));
}

TEST(OpenIndex, LeavesOutWhatTheMaskMarks) {
  CropSource source = two_bands("under_cloud.tif");
  // Class 3 in the pixels of the first 10 m, class 1 elsewhere.
  source.mask = raster_file("cloud.tif", {small_grid(2), 1, GDT_Byte, "", ""},
                            [](int, Point p) { return p.x < west + 10 ? 3 : 1; });
  source.masked_values = {3, 8};
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  EXPECT_NEAR(layer.masked_share, 0.25, 1e-9);
  const Raster raster = whole(*layer.values);
  for (std::size_t i = 0; i < raster.values.size(); ++i)
    ASSERT_EQ(raster.reasons[i], i % 40 < 10 ? Reason::source_nodata : Reason::value);
  source.masked_values = {};
  EXPECT_EQ(refusal_of(source), "crop_without_values");  // every value but 0 masks
}

TEST(OpenIndex, MasksCellsThatAreInterpolatedFromAMaskedPixel) {
  // Pixels of 5 m, cells of 1 m: a cell is made of the pixels within 2.5 m of its centre.
  CropSource source =
      raster_source("coarse.tif", "biomass", {wide_pixels(5), 1, GDT_Float32, "", ""},
                    [](int, Point p) { return p.x < west + 10 ? 0.1 : 0.8; });
  source.mask = raster_file("coarse_cloud.tif", {wide_pixels(5), 1, GDT_Byte, "", ""},
                            [](int, Point p) { return p.x < west + 10 ? 1 : 0; });
  const Raster raster = whole(*open_index(small_field(), source, small_grid(1), {}).values);
  for (int column = 0; column < 40; ++column) {
    const std::size_t i = raster.grid.index(15, column);
    ASSERT_EQ(raster.has_value(i), column >= 12) << column;  // centres from 12.5 m on
    if (column >= 12) {
      ASSERT_NEAR(raster.values[i], 0.8, 1e-6);
    }
  }
}

TEST(OpenIndex, FindsSmallMaskedPlacesWithinACell) {
  CropSource source = two_bands("fine_mask.tif");
  // One pixel of 0.5 m in each 8 m x 8 m; cells of 2 m.
  source.mask = raster_file("specks.tif", {small_grid(0.5), 1, GDT_Byte, "", ""}, [](int, Point p) {
    return std::fmod(p.x - west, 8) < 0.5 && std::fmod(p.y - south, 8) < 0.5 ? 1 : 0;
  });
  const IndexLayer layer = open_index(small_field(), source, small_grid(2), {});
  EXPECT_NEAR(layer.masked_share, 20.0 / 300, 1e-9);  // one cell of each 4 x 4
}

TEST(OpenIndex, LeavesOutBareSoil) {
  CropSource source = two_bands("bare.tif");
  source.bare_below = 0.75;
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  EXPECT_NEAR(layer.bare_share, 0.5, 1e-9);
  EXPECT_FALSE(whole(*layer.values).has_value(39));
  source.bare_below = 0.9;
  EXPECT_EQ(refusal_of(source), "crop_without_values");
}

TEST(OpenIndex, RefusesAReadyBandOfWholeNumbersWithoutTheirScale) {
  CropSource source = raster_source("bytes.tif", "biomass", {small_grid(1), 1, GDT_Byte, "", ""},
                                    [](int, Point p) { return p.x < west + 20 ? 200 : 120; });
  EXPECT_EQ(refusal_of(source), "crop_scale_not_stated");
  source.full_scale = 255;
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  EXPECT_NEAR(whole(*layer.values).values[0], 200.0 / 255, 1e-6);
  EXPECT_THAT(layer.method_text, HasSubstr("over 255"));
  source.full_scale = 100;
  EXPECT_EQ(refusal_of(source), "crop_scale_wrong");
  source.full_scale = 10'000;
  EXPECT_EQ(refusal_of(source), "crop_scale_wrong");
}

TEST(OpenIndex, NamesTheUsualScaleOfSuchNumbers) {
  const CropSource source =
      raster_source("ten_thousand.tif", "biomass", {small_grid(1), 1, GDT_Int16, "", ""},
                    [](int, Point p) { return p.x < west + 20 ? 8000 : 4000; });
  try {
    open_index(small_field(), source, small_grid(1), {});
    FAIL() << "not refused";
  } catch (const InputError& error) {
    EXPECT_EQ(error.exit_code(), ExitCode::input);
    EXPECT_THAT(error.problems().front().text, HasSubstr("4000 to 8000"));
    EXPECT_THAT(error.problems().front().remedy, HasSubstr("10000"));
  }
}

TEST(OpenIndex, DoubtsAnAmountAndRefusesWhatLiesBelowMinusOne) {
  CropSource source =
      raster_source("amount.tif", "biomass", {small_grid(1), 1, GDT_Float32, "", ""},
                    [](int, Point) { return 5.5; });
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  EXPECT_THAT(codes_of(layer.doubts), ::testing::ElementsAre("crop_scale_not_stated"));
  EXPECT_FLOAT_EQ(whole(*layer.values).values[0], 5.5F);
  source.file = raster_file("below.tif", {small_grid(1), 1, GDT_Float32, "", ""},
                            [](int, Point p) { return p.x < west + 20 ? 0.5 : -90.0; });
  EXPECT_EQ(refusal_of(source), "crop_scale_not_stated");
  source.file = raster_file("signed.tif", {small_grid(1), 1, GDT_Float32, "", ""},
                            [](int, Point p) { return p.x < west + 20 ? 0.5 : -0.9; });
  EXPECT_EQ(refusal_of(source), "");  // from -1 to 1
}

TEST(OpenIndex, MakesTheSameIndexOfDigitalNumbersAndSaysThatTheirScaleIsNotStated) {
  CropSource source = two_bands("numbers.tif", 10'000, GDT_UInt16);
  const IndexLayer plain = open_index(small_field(), source, small_grid(1), {});
  EXPECT_THAT(codes_of(plain.doubts), ::testing::ElementsAre("crop_scale_not_stated"));
  source.full_scale = 10'000;
  const IndexLayer scaled = open_index(small_field(), source, small_grid(1), {});
  EXPECT_TRUE(scaled.doubts.empty());
  EXPECT_NEAR(whole(*plain.values).values[0], whole(*scaled.values).values[0], 1e-6);
  source.full_scale = 255;
  EXPECT_EQ(refusal_of(source), "crop_scale_wrong");
}

TEST(OpenIndex, ReadsTemperaturesInTheUnitOfTheBand) {
  const auto kelvin = [](int, Point) { return 300.15; };
  CropSource source = raster_source("kelvin.tif", "canopy_temperature",
                                    {small_grid(1), 1, GDT_Float32, "K", ""}, kelvin);
  const IndexLayer layer = open_index(small_field(), source, small_grid(1), {});
  EXPECT_NEAR(whole(*layer.values).values[0], 27, 1e-4);
  EXPECT_EQ(layer.unit, "C");
  source.file = raster_file("no_unit.tif", {small_grid(1), 1, GDT_Float32, "", ""}, kelvin);
  EXPECT_EQ(refusal_of(source), "crop_scale_wrong");
  source.file = raster_file("odd_unit.tif", {small_grid(1), 1, GDT_Float32, "warm", ""},
                            [](int, Point) { return 27; });
  EXPECT_THAT(codes_of(open_index(small_field(), source, small_grid(1), {}).doubts),
              ::testing::ElementsAre("crop_unit_not_known"));
}

TEST(OpenIndex, RefusesABandThatIsNotThere) {
  CropSource source = two_bands("missing_band.tif");
  source.bands.near_infrared = 5;
  EXPECT_EQ(refusal_of(source), "no_such_band");
}

TEST(OpenCrop, ReadsIndicesOfBands) {
  const CropLayer layer = open_crop(small_field(), two_bands("crop.tif"), small_grid(1), {});
  EXPECT_NEAR(whole(*layer.relative).values[0], 0.35 / 0.45 / layer.median, 1e-6);
  EXPECT_THAT(layer.method_text, HasSubstr("NDVI of bands 2 and 1"));
}

}  // namespace
}  // namespace evendrip
