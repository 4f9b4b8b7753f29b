// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/raster_file.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <stop_token>

#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::bytes_of;
using test::code_of;
using test::fresh_folder;
using test::put;
using ::testing::ElementsAre;

Raster ramp(const Grid& grid) {
  Raster raster(grid);
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column) {
      const std::size_t i = grid.index(row, column);
      if ((row + column) % 7 == 0) {
        raster.clear(i, Reason::too_few);
      } else {
        raster.set(i, row * 1000.0 + column);
      }
    }
  return raster;
}

GeotiffOptions two_bands() {
  return {{{"discharge", "L/h"}, {"spread", "L/h"}}, {{"method", "kriging"}, {"seed", "7"}}, 64};
}

void write_ramp(const fs::path& file, const Grid& grid, int threads = 1) {
  GeotiffWriter writer(file, grid, parse_crs("EPSG:32614"), two_bands());
  for (const Window& window : row_blocks(grid, 64)) {
    const Raster part = ramp(sub_grid(grid, window));
    Raster moved(part.grid);
    for (std::size_t i = 0; i < part.values.size(); ++i)
      if (part.has_value(i)) moved.set(i, part.values[i] + 0.5);
    const std::vector<Raster> parts{part, moved};
    writer.write(window, parts);
  }
  Work work;
  work.threads = threads;
  writer.finish(work);
}

GDALDatasetUniquePtr opened(const fs::path& file) {
  GDALAllRegister();
  return GDALDatasetUniquePtr(GDALDataset::Open(file.c_str(), GDAL_OF_RASTER));
}

TEST(GeotiffWriter, WritesWhatTheReaderReadsBack) {
  const fs::path folder = fresh_folder();
  const Grid grid{500000, 4300000, 2, 300, 130};
  write_ramp(folder / "map.tif", grid);
  const auto reader = open_geotiff(folder / "map.tif");
  EXPECT_EQ(reader->grid(), grid);
  const Window window{64, 10, 5, 20};
  const Raster part = reader->read(window);
  const Raster truth = ramp(sub_grid(grid, {64, 0, 64, 300}));
  for (int row = 0; row < 5; ++row)
    for (int column = 0; column < 20; ++column) {
      const std::size_t here = part.grid.index(row, column);
      const std::size_t there = truth.grid.index(row, column + 10);
      ASSERT_EQ(part.reasons[here], truth.reasons[there]);
      if (part.has_value(here)) {
        ASSERT_EQ(part.values[here], truth.values[there]);
      }
    }
  EXPECT_EQ(std::distance(fs::directory_iterator(folder), fs::directory_iterator()), 1);
}

TEST(GeotiffReader, ReadsTheBandAskedForAndNoOther) {
  const fs::path file = fresh_folder() / "map.tif";
  write_ramp(file, {500000, 4300000, 2, 70, 20});
  const Window all{0, 0, 20, 70};
  const Raster first = open_geotiff(file)->read(all);
  const Raster second = open_geotiff(file, 2)->read(all);
  for (std::size_t i = 0; i < first.values.size(); ++i) {
    ASSERT_EQ(first.reasons[i], second.reasons[i]);
    if (first.has_value(i)) {
      ASSERT_EQ(second.values[i], first.values[i] + 0.5F);
    }
  }
  EXPECT_THROW(open_geotiff(file, 3), std::invalid_argument);  // the reasons
  EXPECT_THROW(open_geotiff(file, 0), std::invalid_argument);
}

TEST(GeotiffWriter, DeclaresLayoutNamesUnitsNodataStatisticsAndMethod) {
  const fs::path file = fresh_folder() / "map.tif";
  write_ramp(file, {500000, 4300000, 2, 700, 600});
  const auto dataset = opened(file);
  EXPECT_STREQ(dataset->GetMetadataItem("LAYOUT", "IMAGE_STRUCTURE"), "COG");
  EXPECT_STREQ(dataset->GetMetadataItem("COMPRESSION", "IMAGE_STRUCTURE"), "DEFLATE");
  EXPECT_STREQ(dataset->GetMetadataItem("PREDICTOR", "IMAGE_STRUCTURE"), "3");
  EXPECT_STREQ(dataset->GetMetadataItem("AREA_OR_POINT"), "Area");
  EXPECT_STREQ(dataset->GetMetadataItem("method"), "kriging");
  EXPECT_STREQ(dataset->GetMetadataItem("seed"), "7");
  ASSERT_EQ(dataset->GetRasterCount(), 3);
  GDALRasterBand* band = dataset->GetRasterBand(1);
  EXPECT_STREQ(band->GetDescription(), "discharge");
  EXPECT_STREQ(band->GetUnitType(), "L/h");
  EXPECT_STREQ(dataset->GetRasterBand(3)->GetDescription(), "reason");
  EXPECT_TRUE(std::isnan(band->GetNoDataValue()));
  EXPECT_EQ(band->GetOverviewCount(), 2);
  double least = 0;
  double greatest = 0;
  double mean = 0;
  double spread = 0;
  ASSERT_EQ(band->GetStatistics(FALSE, FALSE, &least, &greatest, &mean, &spread), CE_None);
  double counted_mean = 0;
  double counted_spread = 0;
  ASSERT_EQ(band->ComputeStatistics(FALSE, &least, &greatest, &counted_mean, &counted_spread,
                                    nullptr, nullptr),
            CE_None);
  EXPECT_NEAR(mean, counted_mean, 1e-9 * counted_mean);
  EXPECT_NEAR(spread, counted_spread, 1e-9 * counted_spread);
  EXPECT_STREQ(dataset->GetSpatialRef()->GetAuthorityCode(nullptr), "32614");
}

TEST(GeotiffWriter, MakesOverviewsOfMeansThatLeaveOutMissingCells) {
  const fs::path file = fresh_folder() / "map.tif";
  const Grid grid{500000, 4300000, 2, 301, 300};
  write_ramp(file, grid);
  const auto dataset = opened(file);
  ASSERT_EQ(dataset->GetRasterBand(1)->GetOverviewCount(), 1);
  GDALRasterBand* values = dataset->GetRasterBand(1)->GetOverview(0);
  GDALRasterBand* reasons = dataset->GetRasterBand(3)->GetOverview(0);
  ASSERT_EQ(values->GetXSize(), 151);
  const Raster truth = ramp({500000, 4300000, 2, 301, 64});
  for (const auto& [row, column] : {std::pair{0, 0}, {3, 150}, {5, 30}}) {
    double sum = 0;
    int count = 0;
    for (const int r : {2 * row, 2 * row + 1})
      for (const int c : {2 * column, 2 * column + 1}) {
        if (c >= grid.columns || !truth.has_value(truth.grid.index(r, c))) continue;
        sum += truth.values[truth.grid.index(r, c)];
        ++count;
      }
    float value = 0;
    float reason = -1;
    ASSERT_EQ(
        values->RasterIO(GF_Read, column, row, 1, 1, &value, 1, 1, GDT_Float32, 0, 0, nullptr),
        CE_None);
    ASSERT_EQ(
        reasons->RasterIO(GF_Read, column, row, 1, 1, &reason, 1, 1, GDT_Float32, 0, 0, nullptr),
        CE_None);
    ASSERT_GT(count, 0);
    EXPECT_NEAR(value, sum / count, 1e-3);
    EXPECT_EQ(reason, 0);
  }
}

TEST(GeotiffWriter, WritesTheSameBytesForAnyNumberOfThreads) {
  const fs::path folder = fresh_folder();
  const Grid grid{500000, 4300000, 2, 1500, 1100};
  write_ramp(folder / "one.tif", grid, 1);
  write_ramp(folder / "four.tif", grid, 4);
  EXPECT_EQ(bytes_of(folder / "one.tif"), bytes_of(folder / "four.tif"));
}

TEST(GeotiffWriter, ThatIsNotFinishedOrIsStoppedLeavesNoFile) {
  const fs::path folder = fresh_folder();
  const Grid grid{500000, 4300000, 2, 600, 600};
  {
    GeotiffWriter writer(folder / "map.tif", grid, parse_crs("EPSG:32614"), two_bands());
    const Raster part = ramp(grid);
    const std::vector<Raster> parts{part, part};
    writer.write({0, 0, 600, 600}, parts);
    std::stop_source source;
    source.request_stop();
    Work work;
    work.stop = source.get_token();
    EXPECT_THROW(writer.finish(work), Interrupted);
  }
  { GeotiffWriter writer(folder / "map.tif", grid, parse_crs("EPSG:32614"), two_bands()); }
  EXPECT_TRUE(fs::is_empty(folder));
}

TEST(GeotiffWriter, TellsProgressThatNeverGoesBack) {
  const fs::path folder = fresh_folder();
  const Grid grid{500000, 4300000, 2, 600, 600};
  GeotiffWriter writer(folder / "map.tif", grid, parse_crs("EPSG:32614"), two_bands());
  const Raster part = ramp(grid);
  const std::vector<Raster> parts{part, part};
  writer.write({0, 0, 600, 600}, parts);
  std::vector<double> told;
  Work work;
  work.progress = [&told](double done) { told.push_back(done); };
  writer.finish(work);
  ASSERT_GT(told.size(), 3U);
  EXPECT_TRUE(std::is_sorted(told.begin(), told.end()));
  EXPECT_EQ(told.back(), 1);
}

TEST(GeotiffWriter, InAFolderThatIsNotThereIsAFileError) {
  const fs::path folder = fresh_folder();
  EXPECT_EQ(code_of<FileError>([&] {
              GeotiffWriter(folder / "none" / "map.tif", Grid{0, 0, 1, 10, 10},
                            parse_crs("EPSG:32614"), two_bands());
            }),
            "not_written");
}

TEST(OpenGeotiff, RefusesRastersThatAreNotOurs) {
  const fs::path folder = fresh_folder();
  put(folder / "text.tif", "no raster");
  EXPECT_EQ(code_of([&] { open_geotiff(folder / "text.tif"); }), "unreadable_file");
}

// Lines of a world file: x size, rotation, rotation, negative y size, centre of the first pixel
// (Esri world file convention, from memory); GDAL reads both files back.
TEST(WorldFile, PutsThePictureExactlyOnTheExtent) {
  const fs::path folder = fresh_folder();
  GDALAllRegister();
  GDALDriver* memory = GetGDALDriverManager()->GetDriverByName("MEM");
  const GDALDatasetUniquePtr blank(memory->Create("", 200, 100, 1, GDT_Byte, nullptr));
  GDALDriver* png = GetGDALDriverManager()->GetDriverByName("PNG");
  GDALDatasetUniquePtr(
      png->CreateCopy((folder / "map.png").c_str(), blank.get(), FALSE, nullptr, nullptr, nullptr));
  for (const char* code : {"EPSG:32614", "EPSG:4326"}) {
    const Extent extent{500000, 4300000, 500400, 4300200};
    write_world_file(folder / "map.png", extent, 200, 100, parse_crs(code));
    const auto picture = opened(folder / "map.png");
    double t[6] = {};
    ASSERT_EQ(picture->GetGeoTransform(t), CE_None);
    EXPECT_NEAR(t[0], 500000, 1e-5);
    EXPECT_NEAR(t[3], 4300200, 1e-5);
    EXPECT_NEAR(t[1], 2, 1e-9);
    EXPECT_NEAR(t[5], -2, 1e-9);
    ASSERT_NE(picture->GetSpatialRef(), nullptr);
    EXPECT_STREQ(picture->GetSpatialRef()->GetAuthorityCode(nullptr), code + 5);
    EXPECT_EQ(picture->GetSpatialRef()->GetDataAxisToSRSAxisMapping()[0],
              std::string(code) == "EPSG:4326" ? 2 : 1);
  }
}

}  // namespace
}  // namespace evendrip
