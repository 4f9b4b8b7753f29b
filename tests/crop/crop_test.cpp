// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/crop.hpp"

#include "evendrip/base/random.hpp"
#include "evendrip/io/raster_file.hpp"
#include "invented_field.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <span>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using invented::crop_file;
using invented::small_field;
using invented::small_grid;
using invented::south;
using invented::west;

Raster invented_raster(const Grid& grid, double lowest) {
  Raster raster(grid);
  std::mt19937_64 stream = item_stream(12, {grid.cells()});
  for (std::size_t i = 0; i < grid.cells(); ++i) {
    raster.set(i, lowest + static_cast<double>(stream() >> 11U) * 0x1.0p-53);
  }
  return raster;
}

double median_by_sorting(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const std::size_t n = values.size();
  return 0.5 * (values[(n - 1) / 2] + values[n / 2]);
}

TEST(MedianInsideZones, IsTheMedianOfTheSortedCells) {
  const Field field = small_field();
  for (const double lowest : {-5.0, -0.5, 0.0, 7.0}) {
    Raster raster = invented_raster(small_grid(1), lowest);
    raster.clear(3, Reason::source_nodata);
    std::vector<double> inside;
    for (std::size_t i = 0; i < raster.values.size(); ++i) {
      if (i != 3) inside.push_back(raster.values[i]);
    }
    const ZoneCells cells = median_inside_zones(field, *reader_of(raster));
    EXPECT_EQ(cells.cells, 1199U);
    EXPECT_EQ(cells.missing, 1U);
    EXPECT_EQ(cells.median, median_by_sorting(inside));
    raster.clear(4, Reason::source_nodata);  // an even number
    inside.erase(inside.begin() + 3);
    EXPECT_EQ(median_inside_zones(field, *reader_of(raster)).median, median_by_sorting(inside));
  }
}

TEST(MedianInsideZones, LeavesCellsOutsideTheZonesOut) {
  const Field field = small_field();
  const Grid wide{west - 40, south + 70, 1, 120, 110};
  Raster raster(wide);
  for (int row = 0; row < wide.rows; ++row) {
    for (int column = 0; column < wide.columns; ++column) {
      const Point p = wide.centre(row, column);
      const bool inside = p.x > west && p.x < west + 40 && p.y > south && p.y < south + 30;
      raster.set(wide.index(row, column), inside ? 2 : 9);
    }
  }
  const ZoneCells cells = median_inside_zones(field, *reader_of(raster));
  EXPECT_EQ(cells.cells, 1200U);
  EXPECT_EQ(cells.median, 2);
}

/// Yield points every 2 m: 8 t/ha in W, `east` t/ha in E.
std::string yield_table(double east) {
  std::string text = "x,y,yield_t_ha,swath_m\n";
  for (int column = 0; column < 20; ++column) {
    for (int row = 0; row < 15; ++row) {
      text += std::to_string(west + 2 * column + 1) + "," + std::to_string(south + 2 * row + 1) +
              "," + std::to_string(column < 10 ? 8.0 : east) + ",2\n";
    }
  }
  return text;
}

TEST(OpenCrop, GridsYieldPointsAndRelatesThemToTheMedian) {
  const Field field = small_field();
  const CropSource source = crop_file("yield.csv", "yield", yield_table(6));
  const CropLayer layer = open_crop(field, source, small_grid(2), {});
  EXPECT_EQ(layer.unit, "t/ha");
  EXPECT_EQ(layer.median, 7);  // half of the cells 8, half 6
  const std::vector<CropStatistics> zones = crop_by_zone(field, layer);
  ASSERT_EQ(zones.size(), 2U);
  EXPECT_EQ(zones[0].name, "W");
  // Kriging smooths the step between the zones: one column of ten on either side, by its 16 points.
  EXPECT_NEAR(zones[0].values.mean, 8, 0.1);
  EXPECT_NEAR(zones[1].values.mean, 6, 0.1);
  EXPECT_NEAR(zones[1].relative_mean, 6.0 / 7, 0.1 / 7);
  EXPECT_NEAR(zones[0].values.weight_cells, 150, 1e-9);
}

TEST(OpenCrop, GivesTheSameCellsForAnyNumberOfThreads) {
  const Field field = small_field();
  const CropSource source = crop_file("threads.csv", "yield", yield_table(6));
  Work two;
  two.threads = 3;
  const Grid grid = small_grid(0.5);
  const Window all{0, 0, grid.rows, grid.columns};
  const Raster one = open_crop(field, source, grid, {}).relative->read(all);
  const Raster many = open_crop(field, source, grid, two).relative->read(all);
  EXPECT_EQ(one.reasons, many.reasons);
  for (std::size_t i = 0; i < one.values.size(); ++i) {
    if (one.has_value(i)) {
      EXPECT_EQ(one.values[i], many.values[i]);
    }
  }
}

TEST(OpenCrop, TurnsCanopyTemperatureSoThatHotIsLow) {
  const Field field = small_field();
  std::string text = "x,y,canopy_temperature_c\n";
  for (int column = 0; column < 40; ++column) {
    for (int row = 0; row < 30; ++row) {
      text += std::to_string(west + column + 0.5) + "," + std::to_string(south + row + 0.5) + "," +
              (column < 10 ? "36" : "27") + "\n";
    }
  }
  const CropLayer layer =
      open_crop(field, crop_file("hot.csv", "canopy_temperature", text), small_grid(1), {});
  EXPECT_EQ(layer.median, 27);
  const std::vector<CropStatistics> zones = crop_by_zone(field, layer);
  EXPECT_NEAR(zones[0].values.mean, 31.5, 1e-6);
  EXPECT_NEAR(zones[0].relative_mean, 0.5 * (0.75 + 1), 1e-6);
  EXPECT_NEAR(zones[1].relative_mean, 1, 1e-6);
}

/// A GeoTIFF of 1 m pixels: 0.8 over zone W, 0.4 over zone E.
CropSource index_file(const Field& field) {
  const Grid pixels = small_grid(1);
  Raster raster(pixels);
  for (std::size_t i = 0; i < pixels.cells(); ++i) raster.set(i, i % 40 < 20 ? 0.8 : 0.4);
  CropSource source = crop_file("index.tif", "biomass", "");
  GeotiffOptions options;
  options.bands = {{"biomass", ""}};
  GeotiffWriter writer(source.file.path, pixels, field.crs, options);
  writer.write({0, 0, pixels.rows, pixels.columns}, std::span(&raster, 1));
  writer.finish({});
  return source;
}

TEST(OpenCrop, WarpsARasterFileToTheGrid) {
  const Field field = small_field();
  const CropSource source = index_file(field);
  const CropLayer layer = open_crop(field, source, small_grid(2), {});
  EXPECT_NEAR(layer.median, 0.6, 1e-6);
  const std::vector<CropStatistics> zones = crop_by_zone(field, layer);
  EXPECT_NEAR(zones[0].values.mean, 0.8, 1e-6);
  EXPECT_NEAR(zones[1].relative_mean, 0.4 / 0.6, 1e-6);
}

std::string code_of(const Field& field, const CropSource& source) {
  try {
    open_crop(field, source, small_grid(2), {});
  } catch (const InputError& error) {
    return error.problems().front().code;
  }
  return "";
}

TEST(OpenCrop, RefusesALayerThatSaysNothingOfTheField) {
  const Field field = small_field();
  EXPECT_EQ(code_of(field, crop_file("away.csv", "yield", "lat,lon,yield_t_ha\n10,-99,8\n")),
            "crop_without_overlap");
  EXPECT_EQ(code_of(field, crop_file("bare.csv", "biomass", "x,y,biomass\n500001,4400001,0\n")),
            "crop_median_not_positive");
}

TEST(OpenCrop, TellsTheShareOfTheZonesWithoutValues) {
  const Field field = small_field();
  const CropLayer layer = open_crop(
      field, crop_file("gap.csv", "biomass", "x,y,biomass\n500001,4400001,8\n"), small_grid(2), {});
  ASSERT_EQ(layer.doubts.size(), 1U);
  EXPECT_EQ(layer.doubts[0].code, "crop_has_gaps");
  EXPECT_EQ(layer.median, 8);
}

/// A layer whose value is the column of the cell.
CropLayer columns_layer(const Grid& grid) {
  Raster raster(grid);
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      raster.set(grid.index(row, column), column);
    }
  }
  CropLayer layer;
  layer.values = reader_of(raster);
  layer.relative = layer.values;
  return layer;
}

TEST(CropByLateral, CoversEachStripAndNothingElse) {
  const Field field = small_field();
  const CropLayer layer = columns_layer(small_grid(1));
  const std::vector<CropStatistics> strips = crop_by_lateral(field, layer, {});
  ASSERT_EQ(strips.size(), 20U);
  double covered = 0;
  for (std::size_t i = 0; i < strips.size(); ++i) {
    EXPECT_EQ(strips[i].lateral, static_cast<int>(i));
    EXPECT_EQ(strips[i].name, field.laterals[i].id);
    EXPECT_NEAR(strips[i].values.weight_cells, 60, 1e-6);  // 2 m x 30 m
    EXPECT_NEAR(strips[i].values.mean, 2.0 * static_cast<double>(i) + 0.5, 1e-6);
    covered += strips[i].values.weight_cells;
  }
  EXPECT_NEAR(covered, 1200, 1e-6);
}

TEST(CropByLateral, CountsPartsOfCellsAndCutsStripsToTheZone) {
  Field field = small_field();
  field.laterals.resize(1);
  field.laterals[0].line = {{west + 0.5, south - 5}, {west + 0.5, south + 15}};
  const CropLayer layer = columns_layer(small_grid(1));
  const CropStatistics strip = crop_by_lateral(field, layer, {})[0];
  EXPECT_NEAR(strip.values.weight_cells, 1.5 * 15, 1e-6);  // from the zone's edge to 1.5 m in it
  EXPECT_NEAR(strip.values.mean, 0.5 / 1.5, 1e-6);
  EXPECT_NEAR(strip.values.max, 1, 1e-9);
}

TEST(CropByLateral, IsTheSameForAnyNumberOfThreads) {
  const Field field = small_field();
  const CropLayer layer = columns_layer(small_grid(1));
  Work three;
  three.threads = 3;
  const std::vector<CropStatistics> one = crop_by_lateral(field, layer, {});
  const std::vector<CropStatistics> many = crop_by_lateral(field, layer, three);
  ASSERT_EQ(one.size(), many.size());
  for (std::size_t i = 0; i < one.size(); ++i) {
    EXPECT_EQ(one[i].values.mean, many[i].values.mean);
    EXPECT_EQ(one[i].values.weight_cells, many[i].values.weight_cells);
  }
}

}  // namespace
}  // namespace evendrip
