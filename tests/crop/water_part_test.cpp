// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/water_part.hpp"

#include "evendrip/base/random.hpp"
#include "raster_source.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using invented::raster_file;
using invented::rectangle;
using invented::small_field;
using invented::small_grid;
using invented::south;
using invented::west;

Raster made(const std::function<double(Point)>& value, const Grid& grid = small_grid(1)) {
  Raster raster(grid);
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column)
      raster.set(grid.index(row, column), value(grid.centre(row, column)));
  return raster;
}

Raster whole(const RasterReader& reader) {
  return reader.read({0, 0, reader.grid().rows, reader.grid().columns});
}

WaterPart part_of_field(const Field& field, const Raster& index, int threads = 1) {
  Work work;
  work.threads = threads;
  return water_part(field, reader_of(index), work);
}

double share_of(const WaterPart& part, const std::string& by) {
  for (const ExplainedShare& term : part.explained)
    if (term.by == by) return term.share;
  return -1;
}

std::vector<std::string> codes_of(const Doubts& doubts) {
  std::vector<std::string> codes;
  for (const Doubt& doubt : doubts) codes.push_back(doubt.code);
  return codes;
}

/// Loam below a slanting border, sand above it: it follows neither zones nor stations.
std::vector<SoilUnit> slanting_soil() {
  return {{"loam",
           {Polygon{{{west, south}, {west + 40, south}, {west + 40, south + 24}, {west, south + 6}},
                    {}}}},
          {"sand",
           {Polygon{{{west, south + 6},
                     {west + 40, south + 24},
                     {west + 40, south + 30},
                     {west, south + 30}},
                    {}}}}};
}
bool is_sand(Point p) {
  return p.y - south > 6 + 18 * (p.x - west) / 40;
}

TEST(WaterPart, TakesAStepOfTheSoilMapOutInFull) {
  Field field = small_field();
  field.soil = slanting_soil();
  const WaterPart part = part_of_field(field, made([](Point p) { return is_sand(p) ? 0.8 : 1.1; }));
  const Raster rest = whole(*part.rest);
  for (const float value : rest.values) ASSERT_NEAR(value, rest.values[0], 1e-5);
  EXPECT_NEAR(share_of(part, "soil map"), 1, 1e-9);
  EXPECT_NEAR(part.rest_sd, 0, 1e-6);
  EXPECT_TRUE(part.doubts.empty());
}

TEST(WaterPart, KeepsADryStripeAlongALateralBesideTheSoilStep) {
  Field field = small_field();
  field.soil = slanting_soil();
  const WaterPart part = part_of_field(field, made([](Point p) {
                                         const bool stripe = p.x > west + 6 && p.x < west + 8;
                                         return (is_sand(p) ? 0.8 : 1.1) - (stripe ? 0.3 : 0);
                                       }));
  const Raster rest = whole(*part.rest);
  for (int row = 0; row < 30; ++row) {
    const auto at = [&](int column) { return rest.values[rest.grid.index(row, column)]; };
    ASSERT_NEAR(at(6) - 0.5F * (at(5) + at(8)), -0.3, 0.03) << row;
  }
}

TEST(WaterPart, TakesOutATrendAcrossTheLateralsAndKeepsTheLevelsOfZones) {
  const WaterPart part =
      part_of_field(small_field(), made([](Point p) { return 0.8 + 0.01 * (p.x - west); }));
  const Raster rest = whole(*part.rest);
  for (int column = 0; column < 40; ++column)  // 0.9 on the mean of W, 1.1 of E
    ASSERT_NEAR(rest.values[rest.grid.index(7, column)], column < 20 ? 0.9 : 1.1, 1e-5);
  EXPECT_GT(part.explained.back().left_in, 0.5);
  EXPECT_THAT(codes_of(part.doubts), ::testing::ElementsAre("trend_follows_layout"));
}

TEST(WaterPart, LeavesAFallAlongTheLateralsIn) {
  const Raster index = made([](Point p) {
    const double way = (p.y - south) / 30;
    return 1.1 - 0.1 * way - 0.2 * way * way;
  });
  const WaterPart part = part_of_field(small_field(), index);
  const Raster rest = whole(*part.rest);
  for (std::size_t i = 0; i < rest.values.size(); ++i)
    ASSERT_NEAR(rest.values[i], index.values[i], 1e-5);
  EXPECT_NEAR(share_of(part, "broad trend"), 0, 1e-6);
  EXPECT_NEAR(part.explained.back().left_in, 1, 0.01);
  EXPECT_THAT(codes_of(part.doubts), ::testing::ElementsAre("trend_follows_layout"));
}

double unit_noise(std::mt19937_64& stream) {
  return static_cast<double>(stream() >> 11U) * 0x1.0p-53 - 0.5;
}

Field field_with_hills() {
  Field field = small_field();
  const Grid pixels{west - 10, south + 40, 1, 60, 50};
  field.elevation = raster_file("hills.tif", {pixels, 1, GDT_Float32, "", ""}, [](int, Point p) {
    return 300 + 2 * std::sin((p.x - west) / 3) * std::cos((p.y - south) / 4) + 0.1 * (p.y - south);
  });
  return field;
}

TEST(WaterPart, TakesNoLevelOfAZoneAndNoCurveAlongItsLateralsOut) {
  std::mt19937_64 stream = item_stream(6, {1});
  const Raster index = made([&](Point p) {
    return 1 + 0.3 * unit_noise(stream) - 0.01 * (p.y - south) + 0.003 * (p.x - west);
  });
  const Raster rest = whole(*part_of_field(field_with_hills(), index).rest);
  for (int zone = 0; zone < 2; ++zone) {
    double sums[3] = {0, 0, 0};
    double moved = 0;
    for (int row = 0; row < 30; ++row) {
      for (int column = 20 * zone; column < 20 * zone + 20; ++column) {
        const std::size_t i = index.grid.index(row, column);
        const double way = (29.5 - row) / 30;
        const double out =
            static_cast<double>(index.values[i]) - static_cast<double>(rest.values[i]);
        sums[0] += out;
        sums[1] += out * way;
        sums[2] += out * way * way;
        moved += std::abs(out);
      }
    }
    for (const double sum : sums) EXPECT_NEAR(sum / 600, 0, 1e-6);
    EXPECT_GT(moved / 600, 1e-3);  // something is taken out
  }
}

TEST(WaterPart, FindsTheCoefficientOfElevationBesideAFall) {
  const Field field = field_with_hills();
  const auto height = [](Point p) {
    return 2 * std::sin((p.x - west) / 3) * std::cos((p.y - south) / 4);
  };
  const WaterPart part = part_of_field(
      field, made([&](Point p) { return 1.1 + 0.05 * height(p) - 0.2 * (p.y - south) / 30; }));
  const Raster rest = whole(*part.rest);
  EXPECT_GT(share_of(part, "elevation"), 0.4);
  // Beside hills that themselves have hardly a mean along the stations, the fall is what is left.
  double worst = 0;
  for (int row = 0; row < 30; ++row) {
    double mean = 0;
    for (int column = 0; column < 20; ++column)
      mean += static_cast<double>(rest.values[rest.grid.index(row, column)]) / 20;
    for (int column = 0; column < 20; ++column) {
      worst = std::max(
          worst, std::abs(static_cast<double>(rest.values[rest.grid.index(row, column)]) - mean));
    }
  }
  EXPECT_LT(worst, 1e-4);
}

TEST(WaterPart, HasNothingToTakeOutOfAConstantField) {
  Field field = field_with_hills();
  field.soil = slanting_soil();
  const WaterPart part = part_of_field(field, made([](Point) { return 1; }));
  for (const float value : whole(*part.rest).values) ASSERT_NEAR(value, 1, 1e-6);
  for (const ExplainedShare& term : part.explained) {
    EXPECT_EQ(term.share, 0);
    EXPECT_EQ(term.left_in, 0);
  }
  EXPECT_EQ(part.rest_sd, 0);
}

TEST(WaterPart, LeavesASoilUnitInThatIsAZoneOfItsOwn) {
  Field field = small_field();
  field.soil = {{"clay", rectangle(west, south, 20, 30)}};
  const Raster index = made([](Point p) { return p.x < west + 20 ? 0.9 : 1.1; });
  const WaterPart part = part_of_field(field, index);
  const Raster rest = whole(*part.rest);
  for (std::size_t i = 0; i < rest.values.size(); ++i)
    ASSERT_NEAR(rest.values[i], index.values[i], 1e-5);
  EXPECT_THAT(codes_of(part.doubts), ::testing::Contains("soil_follows_zones"));
}

TEST(WaterPart, LeavesCellsOutsideTheZonesAndWithoutAValueOut) {
  Raster index =
      made([](Point p) { return 1 + 0.001 * (p.x - west); }, {west - 5, south + 35, 1, 50, 40});
  const std::size_t gap = index.grid.index(10, 10);
  index.clear(gap, Reason::source_nodata);
  const Raster rest = whole(*part_of_field(small_field(), index).rest);
  EXPECT_EQ(rest.reasons[0], Reason::outside_zones);
  EXPECT_EQ(rest.reasons[gap], Reason::source_nodata);
  EXPECT_TRUE(rest.has_value(index.grid.index(10, 11)));
}

TEST(WaterPart, SaysThatTooFewCellsTellNothing) {
  const Grid coarse{west, south + 30, 10, 4, 3};
  const WaterPart part = part_of_field(small_field(), made([](Point) { return 1; }, coarse));
  EXPECT_THAT(codes_of(part.doubts), ::testing::ElementsAre("crop_not_explained"));
  EXPECT_FLOAT_EQ(whole(*part.rest).values[0], 1);
}

TEST(WaterPart, IsTheSameForAnyNumberOfThreads) {
  std::mt19937_64 stream = item_stream(8, {1});
  Field field = field_with_hills();
  field.soil = slanting_soil();
  const Raster index = made([&](Point) { return 1 + 0.2 * unit_noise(stream); }, small_grid(0.125));
  const Raster one = whole(*part_of_field(field, index, 1).rest);
  const Raster three = whole(*part_of_field(field, index, 3).rest);
  EXPECT_EQ(one.values, three.values);
}

}  // namespace
}  // namespace evendrip
