// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/lateral_profile.hpp"

#include "drawn_crop.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

namespace evendrip {
namespace {

using invented::small_field;
using invented::small_grid;
using invented::south;
using invented::west;
using ::testing::HasSubstr;

std::unique_ptr<RasterReader> made(const Grid& grid, const std::function<double(Point)>& value) {
  Raster raster(grid);
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column)
      raster.set(grid.index(row, column), value(grid.centre(row, column)));
  return reader_of(std::move(raster));
}

double unit_normal(std::mt19937_64& stream) {
  const auto uniform = [&] { return (static_cast<double>(stream() >> 11U) + 0.5) * 0x1.0p-53; };
  return std::sqrt(-2 * std::log(uniform())) * std::cos(2 * std::numbers::pi * uniform());
}

TEST(LateralProfiles, FindTheFallThatIsThere) {
  const Field field = small_field();
  // 1.1 at the supply end to 0.9 at the far end, 30 m away; a different level for each lateral.
  const auto falling = made(small_grid(0.5), [](Point p) {
    const double lateral = std::floor((p.x - west) / 2);
    return 1.1 - 0.2 * (p.y - south) / 30 + 0.01 * std::sin(5 * lateral);
  });
  const std::vector<LateralProfile> profiles = lateral_profiles(field, *falling, 0, {});
  ASSERT_EQ(profiles.size(), 2U);
  EXPECT_EQ(profiles[1].zone, 1);
  EXPECT_EQ(profiles[0].laterals, 10);
  EXPECT_TRUE(profiles[0].known);
  EXPECT_NEAR(profiles[0].fall, 0.2, 0.002);
  EXPECT_LE(profiles[0].fall_lower_90, profiles[0].fall);
  EXPECT_GE(profiles[0].fall_upper_90, profiles[0].fall);
  // Means of a straight line: the last quarter stands at 7/8, the first half at 1/4 of the way.
  EXPECT_NEAR(profiles[0].tail_level, (1.1 - 0.2 * 0.875) / (1.1 - 0.2 * 0.25), 0.01);
  EXPECT_THAT(profiles[0].verdict, HasSubstr("falls by 20 %"));
  ASSERT_EQ(profiles[0].bins.size(), 20U);
  EXPECT_EQ(profiles[0].bins[0].laterals, 10);
  EXPECT_NEAR(profiles[0].bins[0].station_m, 0.75, 1e-9);
  EXPECT_NEAR(profiles[0].bins[0].mean, 1.1 - 0.2 * 0.75 / 30, 0.01);
}

TEST(LateralProfiles, FollowTheCourseAndNotTheCompass) {
  Field field = small_field();
  for (Lateral& lateral : field.laterals)
    if (lateral.zone == 1) std::swap(lateral.line.front(), lateral.line.back());
  const auto falling =
      made(small_grid(0.5), [](Point p) { return 1.1 - 0.2 * (p.y - south) / 30; });
  const std::vector<LateralProfile> profiles = lateral_profiles(field, *falling, 0, {});
  EXPECT_NEAR(profiles[0].fall, 0.2, 0.002);
  EXPECT_NEAR(profiles[1].fall, -0.2, 0.002);
}

TEST(LateralProfiles, LeaveHeadlandsOutOfTheFall) {
  const Field field = small_field();
  const auto headland = made(small_grid(0.5), [](Point p) { return p.y > south + 26 ? 0.5 : 1.0; });
  EXPECT_GT(lateral_profiles(field, *headland, 0, {})[0].fall, 0.1);
  EXPECT_NEAR(lateral_profiles(field, *headland, 5, {})[0].fall, 0, 1e-9);
  EXPECT_THAT(lateral_profiles(field, *headland, 12, {})[0].verdict, HasSubstr("enough"));
}

TEST(LateralProfiles, ReadLateralsThatAreFedFromBothEndsTowardTheirMiddle) {
  Field field = small_field();
  field.zones[0].lateral.ends = LateralEnds::both_fed;
  const auto hollow = made(
      small_grid(0.5), [](Point p) { return 1.1 - 0.2 * (1 - std::abs(p.y - south - 15) / 15); });
  const std::vector<LateralProfile> profiles = lateral_profiles(field, *hollow, 0, {});
  EXPECT_NEAR(profiles[0].fall, 0.2, 0.005);
  EXPECT_NEAR(profiles[1].fall, 0, 0.005);
  EXPECT_THAT(profiles[0].verdict, HasSubstr("to the middle"));
}

TEST(LateralProfiles, AreTheSameForAnyNumberOfThreads) {
  const Field field = small_field();
  std::mt19937_64 stream = item_stream(3, {1});
  const auto noisy = made(small_grid(0.5), [&](Point) { return 1 + 0.1 * unit_normal(stream); });
  Work three;
  three.threads = 3;
  EXPECT_EQ(lateral_profiles(field, *noisy, 0, {})[1].fall,
            lateral_profiles(field, *noisy, 0, three)[1].fall);
}

TEST(LateralProfiles, TellAFallInSpiteOfAFewBadLaterals) {
  // 36 laterals of soil and noise that fall by 12 %; four in a row and one alone lose half of what
  // grows beyond the middle.
  const Field field = invented::wide_field(1.5, 36, 120, 1);
  invented::DrawnCrop how;
  how.pixel_m = 3;
  how.soil_sd = 0.04;
  int told = 0;
  int right = 0;
  constexpr int trials = 20;
  for (int trial = 0; trial < trials; ++trial) {
    Raster crop = invented::drawn_crop(field, how, {{10, 13, 60, 1e9, 0.5}, {24, 24, 60, 1e9, 0.5}},
                                       static_cast<std::uint64_t>(trial));
    for (int row = 0; row < crop.grid.rows; ++row)
      for (int column = 0; column < crop.grid.columns; ++column) {
        const std::size_t i = crop.grid.index(row, column);
        const double way = (crop.grid.centre(row, column).y - south) / 120;
        crop.set(i, static_cast<double>(crop.values[i]) * (1.06 - 0.12 * way));
      }
    const LateralProfile profile = lateral_profiles(field, *reader_of(std::move(crop)), 0, {})[0];
    if (profile.fall_lower_90 > 0) ++told;
    if (profile.fall_lower_90 <= 0.12 && profile.fall_upper_90 >= 0.12) ++right;
    EXPECT_EQ(profile.laterals + static_cast<int>(profile.odd.size()), 36);
    for (const int lateral : {11, 12})
      EXPECT_THAT(profile.odd, testing::Contains(lateral)) << trial;
    EXPECT_THAT(profile.verdict, HasSubstr("far from most"));
  }
  RecordProperty("told", told);
  RecordProperty("right", right);
  EXPECT_GE(told, trials * 7 / 10);
  EXPECT_GE(right, trials * 7 / 10);
}

TEST(CropBySegment, CutsEachLateralToItsEnd) {
  const Field field = small_field();
  const auto columns = made(small_grid(0.5), [](Point p) { return p.y - south; });
  const std::vector<CropSegment> segments = crop_by_segment(field, *columns, 8, {});
  ASSERT_EQ(segments.size(), 20U * 4);
  EXPECT_EQ(segments[7].lateral, 1);
  EXPECT_EQ(segments[7].from_m, 24);
  EXPECT_EQ(segments[7].to_m, 30);
  EXPECT_NEAR(segments[7].mean, 27, 1e-5);
  EXPECT_NEAR(segments[7].missing_share, 0, 1e-9);
  EXPECT_THROW(crop_by_segment(field, *columns, 0, {}), std::invalid_argument);
}

TEST(CropBySegment, TellsTheShareWithoutValues) {
  const Field field = small_field();
  Raster raster(small_grid(1));
  for (std::size_t i = 0; i < raster.values.size(); ++i)
    if (i >= 40U * 15) raster.set(i, 1);  // the southern half
  const std::vector<CropSegment> segments = crop_by_segment(field, *reader_of(raster), 20, {});
  EXPECT_NEAR(segments[0].missing_share, 0.25, 1e-9);
  EXPECT_NEAR(segments[0].mean, 1, 1e-9);
  EXPECT_NEAR(segments[1].missing_share, 1, 1e-9);
  EXPECT_EQ(segments[1].mean, 0);
}

}  // namespace
}  // namespace evendrip
