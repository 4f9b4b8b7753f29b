// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/zonal.hpp"

#include "evendrip/base/random.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace evendrip {
namespace {

Raster invented_raster(const Grid& grid) {
  Raster raster(grid);
  std::mt19937_64 stream = item_stream(2, {3});
  for (std::size_t i = 0; i < grid.cells(); ++i) {
    const double u = static_cast<double>(stream() >> 11U) * 0x1.0p-53;
    if (u < 0.1) {
      raster.clear(i, Reason::source_nodata);
    } else {
      raster.set(i, 100 + u);
    }
  }
  return raster;
}

const MultiPolygon slanted = {Polygon{{{3.3, 2.1}, {37.2, 5.9}, {28.4, 27.7}, {8.8, 24.2}},
                                      {{{15, 10}, {20, 11}, {17, 16}}}}};

TEST(StatisticsUnder, AreTheSameForBlocksOfAnySize) {
  const auto reader = reader_of(invented_raster({0, 30, 1, 40, 30}));
  const CoverageStatistics whole = statistics_of(*reader, coverage_of(reader->grid(), slanted));
  for (const std::size_t most_cells : {1U, 40U, 100U, 333U, 100'000U}) {
    const CoverageStatistics blocks = statistics_under(*reader, slanted, most_cells);
    EXPECT_NEAR(blocks.weight_cells, whole.weight_cells, 1e-9);
    EXPECT_NEAR(blocks.missing_cells, whole.missing_cells, 1e-9);
    EXPECT_NEAR(blocks.mean, whole.mean, 1e-9);
    EXPECT_NEAR(blocks.sd, whole.sd, 1e-9);
    EXPECT_EQ(blocks.min, whole.min);
    EXPECT_EQ(blocks.max, whole.max);
  }
}

TEST(StatisticsUnder, CoverTheWholeAreaOfTheShape) {
  const auto reader = reader_of(invented_raster({0, 30, 1, 40, 30}));
  const CoverageStatistics statistics = statistics_under(*reader, slanted, 80);
  EXPECT_NEAR(statistics.weight_cells + statistics.missing_cells, area_m2(slanted), 1e-9);
}

TEST(StatisticsUnder, AreEmptyBesideTheGridAndForNoShape) {
  const auto reader = reader_of(invented_raster({0, 30, 1, 40, 30}));
  EXPECT_EQ(statistics_under(*reader, {}).weight_cells, 0);
  const MultiPolygon away = {Polygon{{{100, 0}, {110, 0}, {110, 10}}, {}}};
  EXPECT_EQ(statistics_under(*reader, away).weight_cells, 0);
}

/// Strips that slant over several bands of rows, one that overlaps them, one beside the grid.
std::vector<MultiPolygon> slanting_strips() {
  std::vector<MultiPolygon> shapes;
  for (int i = 0; i < 9; ++i)
    shapes.push_back(strip_along({{-20.0 + 12 * i, -5}, {35.0 + 12 * i, 125}}, 3));
  shapes.push_back(strip_along({{-10, 60}, {120, 61}}, 20));
  shapes.push_back(slanted);
  shapes.push_back({Polygon{{{500, 0}, {510, 0}, {510, 10}}, {}}});
  shapes.emplace_back();
  return shapes;
}

TEST(StatisticsUnder, OfManyShapesAreThoseOfEachAlone) {
  const auto reader = reader_of(invented_raster({0, 120, 1, 100, 120}));
  const std::vector<MultiPolygon> shapes = slanting_strips();
  const std::vector<CoverageStatistics> together = statistics_under(*reader, shapes, {});
  ASSERT_EQ(together.size(), shapes.size());
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    const CoverageStatistics alone =
        shapes[i].empty() ? CoverageStatistics{}
                          : statistics_of(*reader, coverage_of(reader->grid(), shapes[i]));
    EXPECT_NEAR(together[i].weight_cells, alone.weight_cells, 1e-9) << i;
    EXPECT_NEAR(together[i].missing_cells, alone.missing_cells, 1e-9) << i;
    EXPECT_NEAR(together[i].mean, alone.mean, 1e-9) << i;
    EXPECT_NEAR(together[i].sd, alone.sd, 1e-9) << i;
    EXPECT_EQ(together[i].min, alone.min) << i;
    EXPECT_EQ(together[i].max, alone.max) << i;
  }
}

TEST(StatisticsUnder, OfManyShapesAreTheSameForAnyNumberOfThreads) {
  const auto reader = reader_of(invented_raster({0, 120, 1, 100, 120}));
  const std::vector<MultiPolygon> shapes = slanting_strips();
  Work three;
  three.threads = 3;
  const std::vector<CoverageStatistics> one = statistics_under(*reader, shapes, {});
  const std::vector<CoverageStatistics> many = statistics_under(*reader, shapes, three);
  for (std::size_t i = 0; i < shapes.size(); ++i) {
    EXPECT_EQ(one[i].mean, many[i].mean);
    EXPECT_EQ(one[i].sd, many[i].sd);
  }
}

}  // namespace
}  // namespace evendrip
