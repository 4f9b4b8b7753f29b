// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/findings.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string>

namespace evendrip {
namespace {

constexpr double west = 500'000;
constexpr double south = 4'400'000;

/// Two zones of an invented field, side by side, 50 x 40 m each.
Field two_zones() {
  Field field;
  field.crs = parse_crs("EPSG:32614");
  field.scale_factor = 0.9996;
  for (int z = 0; z < 2; ++z) {
    Zone zone;
    zone.id = z == 0 ? "W" : "E";
    const double x = west + 50 * z;
    zone.area = {Polygon{{{x, south}, {x + 50, south}, {x + 50, south + 40}, {x, south + 40}}, {}}};
    field.zones.push_back(zone);
  }
  return field;
}

const Grid grid = {west, south + 40, 2, 50, 20};

Raster even(double value) {
  Raster raster(grid);
  for (std::size_t i = 0; i < grid.cells(); ++i) raster.set(i, value);
  return raster;
}

void fill(Raster& raster, const Window& window, double value) {
  for (int r = 0; r < window.rows; ++r) {
    for (int c = 0; c < window.columns; ++c) {
      raster.set(grid.index(window.row + r, window.column + c), value);
    }
  }
}

Findings find(const Field& field, const Raster& relative, const Raster* crop) {
  Raster discharge = relative;
  for (std::size_t i = 0; i < grid.cells(); ++i) {
    if (discharge.has_value(i)) discharge.set(i, 1.6 * relative.values[i]);
  }
  const auto water = reader_of(relative);
  const auto flow = reader_of(discharge);
  if (crop == nullptr) return find_low_places(field, *water, *flow, nullptr, {});
  const auto plants = reader_of(*crop);
  return find_low_places(field, *water, *flow, plants.get(), {});
}

TEST(Classify, JoinsWaterAndCrop) {
  const Grid row{0, 1, 1, 7, 1};
  Raster relative(row);
  Raster crop(row);
  const double water[] = {1.0, 0.8, 0.8, 1.0, 0.8};
  const double plants[] = {1.0, 0.8, 1.0, 0.8, 0};
  for (std::size_t i = 0; i < 5; ++i) relative.set(i, water[i]);
  for (std::size_t i = 0; i < 4; ++i) crop.set(i, plants[i]);
  crop.set(5, 0.5);  // water not known there
  const std::vector<std::uint8_t> classes = classify(relative, &crop, {});
  EXPECT_EQ(classes, (std::vector<std::uint8_t>{0, 1, 2, 3, 2, 0, 0}));
  EXPECT_EQ(classify(relative, nullptr, {}), (std::vector<std::uint8_t>{0, 2, 2, 0, 2, 0, 0}));
}

TEST(LowPlaces, FollowALateralThatRunsAskewThroughTheCells) {
  Raster water = even(1);
  for (int i = 0; i < 15; ++i) water.set(grid.index(i, 3 + i), 0.6);
  const Findings found = find(two_zones(), water, nullptr);
  ASSERT_EQ(found.list.size(), 1U);
  EXPECT_EQ(found.left_out, 0);
  EXPECT_NEAR(found.list[0].area_ha, 15 * 4 / 1e4 / (0.9996 * 0.9996), 2e-6);
  EXPECT_NEAR(found.list[0].mean_relative, 0.6, 1e-6);
  EXPECT_EQ(found.list[0].outline.size(), 15U);
}

TEST(Classify, CallsAValueAtTheThresholdNotLow) {
  Raster relative(Grid{0, 1, 1, 2, 1});
  relative.set(0, 0.5);
  relative.set(1, 0.499);
  Thresholds thresholds;
  thresholds.low_below = 0.5;
  EXPECT_EQ(classify(relative, nullptr, thresholds), (std::vector<std::uint8_t>{0, 2}));
}

TEST(FindLowPlaces, FindsNothingInAnEvenField) {
  const Raster water = even(1);
  const Raster crop = even(1);
  const Findings findings = find(two_zones(), water, &crop);
  EXPECT_TRUE(findings.list.empty());
  EXPECT_EQ(findings.left_out, 0);
  EXPECT_TRUE(findings.doubts.empty());
}

TEST(FindLowPlaces, MeasuresEachPlaceAndOrdersThemByUrgencyAndArea) {
  Raster water = even(1);
  Raster crop = even(1);
  fill(water, {2, 2, 4, 5}, 0.6);  // zone W, 10 x 8 m, crop low in all of it
  fill(crop, {2, 2, 4, 5}, 0.7);
  fill(water, {10, 30, 6, 10}, 0.8);  // zone E, 20 x 12 m, crop holds
  fill(crop, {14, 2, 3, 4}, 0.5);     // zone W, crop alone
  fill(water, {12, 10, 4, 10}, 0.7);  // zone W, 20 x 8 m, crop low: larger than the first
  fill(crop, {12, 10, 4, 10}, 0.8);
  const Findings findings = find(two_zones(), water, &crop);
  ASSERT_EQ(findings.list.size(), 4U);
  const Finding& first = findings.list[0];
  EXPECT_EQ(first.id, "A1");
  EXPECT_EQ(first.kind, FindingKind::both_low);
  EXPECT_EQ(first.zone, 0);
  EXPECT_NEAR(first.area_ha, 160 / (0.9996 * 0.9996) / 1e4, 1e-7);
  EXPECT_NEAR(first.mean_relative, 0.7, 1e-6);
  EXPECT_NEAR(first.mean_discharge_lph, 1.12, 1e-6);
  EXPECT_NEAR(first.mean_crop, 0.8, 1e-6);
  EXPECT_NEAR(findings.list[1].mean_relative, 0.6, 1e-6);
  EXPECT_EQ(findings.list[1].kind, FindingKind::both_low);
  EXPECT_EQ(findings.list[2].kind, FindingKind::water_low);
  EXPECT_EQ(findings.list[2].zone, 1);
  EXPECT_EQ(findings.list[3].kind, FindingKind::crop_low);
  EXPECT_EQ(findings.list[3].id, "A4");
  for (const Finding& finding : findings.list) {
    EXPECT_TRUE(contains(finding.outline, finding.label));
  }
}

TEST(FindLowPlaces, LeavesOutSmallPatchesAndCountsThem) {
  Raster water = even(1);
  fill(water, {2, 2, 1, 1}, 0.5);
  fill(water, {10, 10, 1, 2}, 0.5);
  fill(water, {14, 30, 3, 3}, 0.5);
  Field field = two_zones();
  Findings findings = find(field, water, nullptr);
  EXPECT_NEAR(findings.smallest_area_m2, 25, 1e-9);
  EXPECT_EQ(findings.list.size(), 1U);
  EXPECT_EQ(findings.left_out, 2);
  EXPECT_NEAR(findings.left_out_ha, 12 / 1e4, 1e-5);
  ASSERT_EQ(findings.doubts.size(), 1U);
  EXPECT_EQ(findings.doubts[0].code, "small_patches_left_out");
  field.analysis.smallest_area_m2 = 6;
  findings = find(field, water, nullptr);
  EXPECT_EQ(findings.list.size(), 2U);
  EXPECT_EQ(findings.left_out, 1);
}

TEST(FindLowPlaces, TakesFourCellsAsTheSmallestAreaOfACoarseGrid) {
  Raster coarse(Grid{west, south + 40, 10, 10, 4});
  for (std::size_t i = 0; i < coarse.grid.cells(); ++i) coarse.set(i, 1);
  const auto reader = reader_of(coarse);
  const Findings findings = find_low_places(two_zones(), *reader, *reader, nullptr, {});
  EXPECT_NEAR(findings.smallest_area_m2, 400 / (0.9996 * 0.9996), 1e-6);
}

TEST(FindLowPlaces, GivesAPlaceToTheZoneThatHoldsMostOfIt) {
  Raster water = even(1);
  fill(water, {4, 20, 5, 15}, 0.5);  // 10 m in W, 20 m in E
  const Findings findings = find(two_zones(), water, nullptr);
  ASSERT_EQ(findings.list.size(), 1U);
  EXPECT_EQ(findings.list[0].zone, 1);
  EXPECT_TRUE(std::isnan(findings.list[0].mean_crop));
}

TEST(FindLowPlaces, KeepsTheAreaOfTheCellsWhateverTheOutlineDrawn) {
  Raster water = even(1);
  std::size_t cells = 0;
  for (int row = 0; row < grid.rows; ++row) {  // a slanted band: stairs on both sides
    for (int column = 0; column < grid.columns; ++column) {
      if (std::abs(column - 2 * row - 3) > 4) continue;
      water.set(grid.index(row, column), 0.5);
      ++cells;
    }
  }
  const Findings findings = find(two_zones(), water, nullptr);
  ASSERT_EQ(findings.list.size(), 1U);
  const double grid_m2 = 4.0 * static_cast<double>(cells);
  EXPECT_NEAR(findings.list[0].area_ha, grid_m2 / (0.9996 * 0.9996) / 1e4, 1e-6);
  EXPECT_NEAR(area_m2(findings.list[0].outline), grid_m2, 0.02 * grid_m2);
  EXPECT_NEAR(findings.list[0].mean_relative, 0.5, 1e-6);
}

TEST(FindLowPlaces, SaysWhereTheCropIsLowAndTheWaterIsNotKnown) {
  Raster water = even(1);
  Raster crop = even(1);
  fill(crop, {5, 5, 5, 5}, 0.5);
  for (int row = 5; row < 10; ++row) {
    for (int column = 5; column < 10; ++column) {
      water.clear(grid.index(row, column), Reason::too_few);
    }
  }
  const Findings findings = find(two_zones(), water, &crop);
  EXPECT_TRUE(findings.list.empty());
  ASSERT_EQ(findings.doubts.size(), 1U);
  EXPECT_EQ(findings.doubts[0].code, "crop_low_water_unknown");
  EXPECT_NE(findings.doubts[0].text.find("0.01 ha"), std::string::npos) << findings.doubts[0].text;
}

TEST(FindingKind, HasItsOwnWordsForEachKind) {
  std::set<std::string> words;
  for (const FindingKind kind :
       {FindingKind::none, FindingKind::both_low, FindingKind::water_low, FindingKind::crop_low}) {
    words.insert(to_text(kind));
    words.insert(advice_for(kind));
  }
  EXPECT_EQ(words.size(), 8U);
  EXPECT_EQ(to_text(FindingKind::both_low), "water and crop low");
}

}  // namespace
}  // namespace evendrip
