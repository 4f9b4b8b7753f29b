// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <cstdint>
#include <functional>
#include <optional>

#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogr_spatialref.h>

#include "evendrip/io/raster_file.hpp"
#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::code_of;
using test::fresh_folder;
using test::problems_of;
using test::put;
using ::testing::HasSubstr;
using ::testing::Not;

/// A raster to be written for a test.
struct Source {
  std::string crs = "EPSG:32614";  ///< empty: none
  double x_left = 500000;
  double y_top = 4300000;
  double pixel = 1;
  int columns = 40;
  int rows = 40;
  int bands = 1;
  bool georeferenced = true;
  std::optional<double> nodata;
  GDALDataType type = GDT_Float32;
};

FileRef made(const fs::path& file, const Source& source,
             const std::function<double(int row, int column)>& value) {
  GDALAllRegister();
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GTiff");
  const GDALDatasetUniquePtr raster(driver->Create(file.c_str(), source.columns, source.rows,
                                                   source.bands, source.type, nullptr));
  double t[6] = {source.x_left, source.pixel, 0, source.y_top, 0, -source.pixel};
  if (source.georeferenced) raster->SetGeoTransform(t);
  if (!source.crs.empty()) {
    OGRSpatialReference reference;
    reference.SetFromUserInput(source.crs.c_str());
    raster->SetSpatialRef(&reference);
  }
  for (int b = 1; b <= source.bands; ++b) {
    GDALRasterBand* band = raster->GetRasterBand(b);
    if (source.nodata) band->SetNoDataValue(*source.nodata);
    std::vector<double> row_values(static_cast<std::size_t>(source.columns));
    for (int row = 0; row < source.rows; ++row) {
      for (int column = 0; column < source.columns; ++column)
        row_values[static_cast<std::size_t>(column)] = value(row, column) + 1000 * (b - 1);
      EXPECT_EQ(band->RasterIO(GF_Write, 0, row, source.columns, 1, row_values.data(),
                               source.columns, 1, GDT_Float64, 0, 0, nullptr),
                CE_None);
    }
  }
  return {file, "", file.filename().string()};
}

Raster whole(const RasterReader& reader) {
  return reader.read({0, 0, reader.grid().rows, reader.grid().columns});
}

const Crs& utm14() {
  static const Crs crs = parse_crs("EPSG:32614");
  return crs;
}

TEST(RasterInfo, TellsSizePixelsBandsAndCrs) {
  Source source;
  source.bands = 2;
  source.pixel = 0.5;
  source.nodata = -9999;
  const FileRef file = made(fresh_folder() / "r.tif", source, [](int, int) { return 1; });
  const RasterInfo info = raster_info(file);
  EXPECT_EQ(info.crs.code, "EPSG:32614");
  EXPECT_EQ(info.columns, 40);
  EXPECT_EQ(info.bands, 2);
  EXPECT_TRUE(info.has_nodata);
  // On the central meridian of UTM a grid metre is 1/0.9996 m on the ground (NGA.SIG.0012, from
  // memory).
  EXPECT_NEAR(info.pixel_x_m, 0.5 / 0.9996, 1e-5);
  EXPECT_NEAR(info.pixel_y_m, 0.5 / 0.9996, 1e-5);
  EXPECT_EQ(info.extent.x_max, 500020);
  EXPECT_EQ(info.extent.y_min, 4299980);
  EXPECT_EQ(info.band_units, (std::vector<std::string>{"", ""}));
}

TEST(RasterInfo, TellsTheUnitOfABand) {
  const std::filesystem::path file = fresh_folder() / "unit.tif";
  const Raster raster(Grid{500000, 4300000, 5, 4, 3}, Reason::source_nodata);
  GeotiffWriter writer(file, raster.grid, utm14(), {{{"elevation", "ft"}}, {}, 256});
  writer.write({0, 0, 3, 4}, std::span(&raster, 1));
  writer.finish(Work{});
  EXPECT_EQ(raster_info({file, "", "unit.tif"}).band_units.front(), "ft");
}

TEST(RasterInfo, MeasuresPixelsInDegreesOnTheGround) {
  Source source;
  source.crs = "EPSG:4326";
  source.x_left = -99;
  source.y_top = 45;
  source.pixel = 0.001;
  source.columns = source.rows = 2;
  const FileRef file = made(fresh_folder() / "r.tif", source, [](int, int) { return 1; });
  const RasterInfo info = raster_info(file);
  // A degree at latitude 45: 78 847 m of longitude, 111 132 m of latitude (WGS 84, from memory).
  EXPECT_NEAR(info.pixel_x_m, 78.847, 0.005);
  EXPECT_NEAR(info.pixel_y_m, 111.132, 0.005);
}

TEST(RasterOnGrid, AveragesPixelsThatAreSmallerThanTheCells) {
  const FileRef file =
      made(fresh_folder() / "r.tif", {}, [](int row, int column) { return 100 * row + column; });
  const Grid grid{500000, 4300000, 4, 10, 10};
  const Raster raster = whole(*open_raster_on_grid(file, 1, grid, utm14()));
  for (int row = 0; row < 10; ++row)
    for (int column = 0; column < 10; ++column)
      ASSERT_NEAR(raster.values[grid.index(row, column)], 100 * (4 * row + 1.5) + 4 * column + 1.5,
                  1e-3);
}

TEST(RasterOnGrid, WeighsPixelsThatACellCutsByTheirArea) {
  const FileRef file =
      made(fresh_folder() / "r.tif", {}, [](int, int column) { return column * 10.0; });
  const Grid grid{500000.5, 4300000, 2, 10, 10};
  const Raster raster = whole(*open_raster_on_grid(file, 1, grid, utm14()));
  // Columns 0.5 to 2.5: half of 0, all of 10, half of 20.
  EXPECT_NEAR(raster.values[0], 10, 1e-3);
}

TEST(RasterOnGrid, InterpolatesBetweenPixelsThatAreLargerThanTheCells) {
  Source source;
  source.pixel = 4;
  const FileRef file = made(fresh_folder() / "r.tif", source,
                            [](int row, int column) { return 7.0 * column - 3.0 * row; });
  const Grid grid{500020, 4299980, 1, 40, 40};
  const Raster raster = whole(*open_raster_on_grid(file, 1, grid, utm14()));
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    const Point p = grid.centre(static_cast<int>(i) / 40, static_cast<int>(i) % 40);
    const double column = (p.x - 500000) / 4 - 0.5;
    const double row = (4300000 - p.y) / 4 - 0.5;
    ASSERT_NEAR(raster.values[i], 7 * column - 3 * row, 1e-3);
  }
}

TEST(RasterOnGrid, KeepsClassesAsTheyAre) {
  Source source;
  source.type = GDT_Byte;
  const FileRef file = made(fresh_folder() / "r.tif", source,
                            [](int row, int column) { return (row + column) % 2 == 0 ? 3 : 9; });
  const Grid grid{500000, 4300000, 3, 13, 13};
  const Raster raster = whole(*open_raster_on_grid(file, 1, grid, utm14(), Resampling::nearest));
  for (const float value : raster.values) ASSERT_TRUE(value == 3 || value == 9) << value;
}

TEST(RasterOnGrid, SaysWhetherASourceIsMissingOrMarkedAsMissing) {
  Source source;
  source.nodata = -9999;
  const FileRef file = made(fresh_folder() / "r.tif", source, [](int row, int column) {
    return row < 4 && column < 4 ? -9999 : column == 20 ? std::nan("") : 5;
  });
  const Grid grid{499996, 4300004, 2, 24, 24};
  const Raster raster = whole(*open_raster_on_grid(file, 1, grid, utm14()));
  EXPECT_EQ(raster.reasons[grid.index(0, 0)], Reason::no_source);
  EXPECT_EQ(raster.reasons[grid.index(23, 23)], Reason::no_source);
  EXPECT_EQ(raster.reasons[grid.index(2, 2)], Reason::source_nodata);
  EXPECT_EQ(raster.reasons[grid.index(8, 12)], Reason::source_nodata);
  EXPECT_TRUE(raster.has_value(grid.index(8, 8)));
  EXPECT_EQ(raster.values[grid.index(8, 8)], 5);
  EXPECT_TRUE(std::isnan(raster.values[grid.index(2, 2)]));
}

TEST(RasterOnGrid, DoesNotDependOnTheWindowsItIsReadIn) {
  Source source;
  source.crs = "EPSG:4326";
  source.x_left = -99.01;
  source.y_top = 38.85;
  source.pixel = 0.0002;
  source.columns = source.rows = 120;
  const FileRef file = made(fresh_folder() / "r.tif", source, [](int row, int column) {
    return std::sin(row * 0.1) * 50 + column * 0.3;
  });
  const Grid grid{499500, 4299000, 7, 150, 110};
  const auto reader = open_raster_on_grid(file, 1, grid, utm14());
  const Raster once = whole(*reader);
  for (const Window& window : row_blocks(grid, 13)) {
    const Raster part = reader->read(window);
    for (int row = 0; row < window.rows; ++row)
      for (int column = 0; column < window.columns; ++column) {
        const std::size_t there = grid.index(window.row + row, column);
        const std::size_t here = part.grid.index(row, column);
        ASSERT_EQ(part.reasons[here], once.reasons[there]);
        if (part.has_value(here)) {
          ASSERT_EQ(part.values[here], once.values[there]);
        }
      }
  }
}

TEST(RasterOnGrid, LiesWhereItsCrsSaysAfterWarping) {
  Source source;
  source.crs = "EPSG:4326";
  source.x_left = -99.01;
  source.y_top = 38.85;
  source.pixel = 0.0002;
  source.columns = source.rows = 200;
  const FileRef file = made(fresh_folder() / "r.tif", source,
                            [](int row, int column) { return 2.0 * column + 5.0 * row; });
  const Grid grid{499600, 4299600, 5, 60, 60};
  const Raster raster = whole(*open_raster_on_grid(file, 1, grid, utm14()));
  const Transform to_lon_lat(utm14(), wgs84());
  int counted = 0;
  for (std::size_t i = 0; i < raster.values.size(); i += 97) {
    const Point p = to_lon_lat(grid.centre(static_cast<int>(i) / 60, static_cast<int>(i) % 60));
    const double column = (p.x + 99.01) / 0.0002 - 0.5;
    const double row = (38.85 - p.y) / 0.0002 - 0.5;
    ASSERT_TRUE(raster.has_value(i));
    EXPECT_NEAR(raster.values[i], 2 * column + 5 * row, 0.01);
    ++counted;
  }
  EXPECT_GT(counted, 30);
}

TEST(RasterOnGrid, AppliesScaleAndOffsetOfPackedBands) {
  Source source;
  source.type = GDT_Int16;
  const FileRef file = made(fresh_folder() / "r.tif", source, [](int, int) { return 150; });
  {
    const GDALDatasetUniquePtr raster(
        GDALDataset::Open(file.path.c_str(), GDAL_OF_RASTER | GDAL_OF_UPDATE));
    raster->GetRasterBand(1)->SetScale(0.01);
    raster->GetRasterBand(1)->SetOffset(-1);
  }
  const Grid grid{500000, 4300000, 4, 10, 10};
  EXPECT_FLOAT_EQ(whole(*open_raster_on_grid(file, 1, grid, utm14())).values[5], 0.5F);
}

TEST(RasterOnGrid, ReadsTheBandAskedFor) {
  Source source;
  source.bands = 3;
  const FileRef file = made(fresh_folder() / "r.tif", source, [](int, int) { return 7; });
  const Grid grid{500000, 4300000, 4, 10, 10};
  EXPECT_EQ(whole(*open_raster_on_grid(file, 2, grid, utm14())).values[0], 1007);
  EXPECT_EQ(code_of([&] { open_raster_on_grid(file, 4, grid, utm14()); }), "no_such_band");
  EXPECT_EQ(code_of([&] { open_raster_on_grid(file, 0, grid, utm14()); }), "no_such_band");
}

TEST(RasterOnGrid, RefusesRastersThatSayNothingAboutTheField) {
  const fs::path folder = fresh_folder();
  const auto five = [](int, int) { return 5.0; };
  const Grid grid{500000, 4300000, 4, 10, 10};
  const auto code = [&](const char* name, const Source& source,
                        const std::function<double(int, int)>& value) {
    const FileRef file = made(folder / name, source, value);
    return code_of([&] { open_raster_on_grid(file, 1, grid, utm14()); });
  };
  Source no_crs;
  no_crs.crs = "";
  EXPECT_EQ(code("no_crs.tif", no_crs, five), "raster_without_crs");
  Source nowhere;
  nowhere.georeferenced = false;
  EXPECT_EQ(code("nowhere.tif", nowhere, five), "raster_without_georeference");
  Source beside;
  beside.x_left = 600000;
  EXPECT_EQ(code("beside.tif", beside, five), "raster_without_overlap");
  Source far;
  far.crs = "EPSG:4326";
  far.x_left = 10;
  far.y_top = 50;
  far.pixel = 0.001;
  EXPECT_EQ(code("far.tif", far, five), "raster_without_overlap");
  Source empty;
  empty.nodata = 5;
  EXPECT_EQ(code("empty.tif", empty, five), "raster_all_nodata");
}

TEST(RasterOnGrid, RefusesFilesThatNameOtherFiles) {
  const fs::path folder = fresh_folder();
  made(folder / "r.tif", {}, [](int, int) { return 5; });
  put(folder / "r.vrt",
      "<VRTDataset rasterXSize=\"40\" rasterYSize=\"40\"><VRTRasterBand dataType=\"Float32\" "
      "band=\"1\"><SimpleSource><SourceFilename relativeToVRT=\"1\">r.tif</SourceFilename>"
      "</SimpleSource></VRTRasterBand></VRTDataset>");
  const Doubts problems = problems_of([&] { raster_info({folder / "r.vrt", "", "r.vrt"}); });
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "driver_not_allowed");
  EXPECT_THAT(problems[0].found, HasSubstr("Virtual"));
  fs::rename(folder / "r.vrt", folder / "disguised.tif");
  EXPECT_EQ(code_of([&] {
              raster_info({folder / "disguised.tif", "", "disguised.tif"});
            }),
            "driver_not_allowed");
}

TEST(RasterOnGrid, RefusesFilesThatAreNoRasterAndPrintsNothing) {
  const fs::path folder = fresh_folder();
  put(folder / "text.tif", "not a raster");
  put(folder / "empty.tif", "");
  put(folder / "short.tif", std::string("II*\0\x08\0\0\0\xFF\xFF", 10));
  ::testing::internal::CaptureStderr();
  for (const char* name : {"text.tif", "empty.tif", "short.tif"}) {
    const Doubts problems = problems_of([&] { raster_info({folder / name, "", name}); });
    ASSERT_EQ(problems.size(), 1U) << name;
    EXPECT_EQ(problems[0].code, "unreadable_file") << name;
    EXPECT_THAT(problems[0].text, Not(HasSubstr(folder.string()))) << name;
  }
  EXPECT_EQ(::testing::internal::GetCapturedStderr(), "");
}

TEST(RasterOnGrid, RefusesARasterWhoseDataAreCutOff) {
  const fs::path folder = fresh_folder();
  Source source;
  source.columns = source.rows = 400;
  const FileRef file =
      made(folder / "r.tif", source, [](int row, int column) { return row * column; });
  fs::resize_file(file.path, fs::file_size(file.path) / 2);
  const Grid grid{500000, 4300000, 4, 100, 100};
  const Doubts problems = problems_of([&] {
    const auto reader = open_raster_on_grid(file, 1, grid, utm14());
    whole(*reader);
  });
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "unreadable_file");
  EXPECT_EQ(problems[0].place.file, "r.tif");
  EXPECT_THAT(problems[0].text, Not(HasSubstr(folder.string())));
}

TEST(RasterOnGrid, LeavesNothingBesideTheFileItReads) {
  const fs::path folder = fresh_folder();
  const FileRef file = made(folder / "r.tif", {}, [](int, int) { return 5; });
  raster_info(file);
  whole(*open_raster_on_grid(file, 1, {500000, 4300000, 4, 10, 10}, utm14()));
  EXPECT_EQ(std::distance(fs::directory_iterator(folder), fs::directory_iterator()), 1);
}

MultiPolygon box(double x, double y, double width, double height) {
  return {Polygon{{{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}}, {}}};
}

TEST(RasterInside, LeavesPixelsThatStraddleTheLimitOut) {
  Source source;
  source.pixel = 4;
  source.columns = source.rows = 10;
  // 7 inside, 100 outside; the pixels of column 2 and row 7 are cut by the limit.
  const FileRef file = made(fresh_folder() / "r.tif", source,
                            [](int row, int column) { return row < 7 && column > 2 ? 7 : 100; });
  const MultiPolygon west = box(500010, 4299970, 15, 40);
  const MultiPolygon east = box(500025, 4299970, 15, 40);
  const MultiPolygon both = {west[0], east[0]};
  const Grid grid{500000, 4300000, 1, 40, 40};
  const Raster raster = whole(*open_raster_inside(file, 1, grid, utm14(), both));
  const Raster plain = whole(*open_raster_on_grid(file, 1, grid, utm14()));
  for (int row = 0; row < 40; ++row) {
    for (int column = 0; column < 40; ++column) {
      const std::size_t i = grid.index(row, column);
      const bool inside = column >= 12 && row < 28;
      ASSERT_EQ(raster.reasons[i], inside ? Reason::value : Reason::source_nodata)
          << row << " " << column;
      if (inside) {
        ASSERT_FLOAT_EQ(raster.values[i], 7);
      }
    }
  }
  EXPECT_GT(plain.values[grid.index(10, 12)], 7);  // it mixes with what lies outside
}

TEST(RasterInside, ReadsTheSameWindowByWindow) {
  Source source;
  source.pixel = 2.5;
  source.columns = source.rows = 20;
  const FileRef file = made(fresh_folder() / "r.tif", source,
                            [](int row, int column) { return row * row + 3 * column; });
  const Grid grid{500000, 4300000, 0.7, 60, 60};
  const auto reader = open_raster_inside(file, 1, grid, utm14(), box(500003, 4299964, 31, 29));
  const Raster all = whole(*reader);
  for (const Window& window : row_blocks(grid, 7)) {
    const Raster part = reader->read(window);
    for (std::size_t i = 0; i < part.values.size(); ++i) {
      const std::size_t k = grid.index(window.row, 0) + i;
      ASSERT_EQ(part.reasons[i], all.reasons[k]);
      if (part.has_value(i)) {
        ASSERT_EQ(part.values[i], all.values[k]);
      }
    }
  }
}

TEST(RasterInside, AveragesOnlyTheSmallPixelsInside) {
  const FileRef file =
      made(fresh_folder() / "r.tif", {}, [](int, int column) { return column >= 10 ? 7 : 100; });
  const Grid grid{500000, 4300000, 4, 10, 10};
  const Raster raster =
      whole(*open_raster_inside(file, 1, grid, utm14(), box(500010, 4299900, 100, 200)));
  EXPECT_FLOAT_EQ(raster.values[grid.index(3, 2)], 7);  // columns 8 to 11
  EXPECT_FALSE(raster.has_value(grid.index(3, 1)));
}

TEST(RasterInside, TakesTheShapeItselfForVerySmallPixels) {
  Source source;
  source.pixel = 0.015;
  source.columns = source.rows = 2400;  // of which over four million lie around the shapes
  source.type = GDT_Byte;
  const FileRef file = made(fresh_folder() / "r.tif", source, [](int, int column) {
    return column >= 200 ? 7 : 100;  // the limit at 500003
  });
  const MultiPolygon west = box(500003, 4299966, 15, 33);
  const MultiPolygon east = box(500018, 4299966, 17, 33);
  const Grid grid{500000.5, 4300000, 1, 35, 34};
  const Raster raster = whole(*open_raster_inside(file, 1, grid, utm14(), {west[0], east[0]}));
  for (int column = 0; column < 35; ++column) {
    const std::size_t i = grid.index(10, column);
    ASSERT_EQ(raster.has_value(i), column >= 2) << column;  // cells from 500002.5 on
    if (column >= 2) {
      ASSERT_EQ(raster.values[i], 7) << column;
    }
  }
}

TEST(RasterInside, RefusesPixelsLargerThanTheShape) {
  Source source;
  source.pixel = 20;
  source.columns = source.rows = 2;
  const FileRef file = made(fresh_folder() / "r.tif", source, [](int, int) { return 1; });
  const Grid grid{500000, 4300000, 1, 40, 40};
  EXPECT_EQ(
      code_of([&] { open_raster_inside(file, 1, grid, utm14(), box(500005, 4299965, 30, 30)); }),
      "raster_too_coarse");
}

TEST(RasterInfo, TellsWhetherABandHoldsIntegers) {
  Source source;
  EXPECT_FALSE(raster_info(made(fresh_folder() / "f.tif", source, [](int, int) {
                 return 1;
               })).band_holds_integers.front());
  source.type = GDT_Byte;
  EXPECT_TRUE(raster_info(made(fresh_folder() / "b.tif", source, [](int, int) {
                return 1;
              })).band_holds_integers.front());
}

}  // namespace
}  // namespace evendrip
