// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/patches.hpp"

#include "drawn_crop.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <iterator>

namespace evendrip {
namespace {

using invented::DrawnCrop;
using invented::Lack;

/// Two zones of 24 laterals 1.5 m apart, 60 m long.
Field field_of() {
  return invented::wide_field(1.5, 24, 60);
}

CropScreening screened(const Field& field, const std::vector<Lack>& lacks, double headland_m = 0,
                       int threads = 1, DrawnCrop how = {}) {
  Work work;
  work.threads = threads;
  const auto reader = reader_of(invented::drawn_crop(field, how, lacks, 5));
  return screen_crop(field, *reader, how.pixel_m, headland_m, 0.05, 3, work);
}

std::vector<CropPatch> of_shape(const CropScreening& screening, PatchShape shape) {
  std::vector<CropPatch> out;
  std::copy_if(screening.patches.begin(), screening.patches.end(), std::back_inserter(out),
               [&](const CropPatch& patch) { return patch.shape == shape; });
  return out;
}

TEST(CropScreening, FindsOneWeakLateralAndSaysToLookAtItsInlet) {
  const CropScreening screening = screened(field_of(), {{9, 9, 0, 1e9, 0.25}});
  const auto found = of_shape(screening, PatchShape::follows_laterals);
  ASSERT_EQ(found.size(), 1U);
  const CropPatch& patch = found[0];
  EXPECT_EQ(patch.zone, 0);
  EXPECT_EQ(patch.first_lateral, 9);
  EXPECT_EQ(patch.last_lateral, 9);
  EXPECT_EQ(patch.laterals, 1);
  EXPECT_EQ(patch.from_m, 0);
  EXPECT_EQ(patch.to_m, 60);
  EXPECT_TRUE(patch.to_the_end);
  EXPECT_NEAR(patch.area_m2, 90, 1e-6);
  EXPECT_NEAR(patch.level, 0.79, 0.04);  // half of a row of pixels stands on the lateral beside it
  EXPECT_NEAR(patch.deficit_m2, (1 - patch.level) * patch.area_m2, 1e-9);
  EXPECT_LE(patch.shape_p, 0.02);
  EXPECT_NE(patch.told.find("Lateral A10 is low over the whole length"), std::string::npos);
  EXPECT_NE(patch.told.find("inlet"), std::string::npos);
  EXPECT_NE(screening.summary.find("1 along laterals"), std::string::npos);
}

TEST(CropScreening, FindsWhereAGroupOfLateralsBeginsToFail) {
  const CropScreening screening = screened(field_of(), {{30, 34, 35, 1e9, 0.25}});
  const auto found = of_shape(screening, PatchShape::follows_laterals);
  ASSERT_EQ(found.size(), 1U);
  const CropPatch& patch = found[0];
  EXPECT_EQ(patch.zone, 1);
  EXPECT_EQ(patch.first_lateral, 30);
  EXPECT_EQ(patch.last_lateral, 34);
  EXPECT_NEAR(patch.from_m, 35, 6);
  EXPECT_TRUE(patch.to_the_end);
  EXPECT_NE(patch.told.find("Laterals B7 to B11 (5 side by side) are low from about"),
            std::string::npos);
  EXPECT_NE(patch.told.find("flush end"), std::string::npos);
}

TEST(CropScreening, FindsTwoFaultsAtOnceWithWhatLosesMoreFirst) {
  const CropScreening screening =
      screened(field_of(), {{6, 6, 0, 1e9, 0.25}, {30, 35, 0, 1e9, 0.25}});
  const auto found = of_shape(screening, PatchShape::follows_laterals);
  ASSERT_EQ(found.size(), 2U);
  EXPECT_EQ(found[0].laterals, 6);
  EXPECT_EQ(found[1].laterals, 1);
  EXPECT_GT(found[0].deficit_m2, found[1].deficit_m2);
}

TEST(CropScreening, TellsAZoneThatIsLowAsAWhole) {
  const CropScreening screening = screened(field_of(), {{24, 47, 0, 1e9, 0.15}});
  const auto found = of_shape(screening, PatchShape::follows_zone);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].zone, 1);
  EXPECT_EQ(found[0].laterals, 24);
  EXPECT_NEAR(found[0].level, 0.85, 0.04);
  EXPECT_NE(found[0].told.find("Zone B is low as a whole"), std::string::npos);
  EXPECT_NE(found[0].told.find("valve"), std::string::npos);
}

TEST(CropScreening, FindsNothingInNoise) {
  DrawnCrop noise;
  noise.soil_sd = 1e-6;
  const CropScreening screening = screened(field_of(), {}, 0, 1, noise);
  EXPECT_TRUE(screening.patches.empty());
  EXPECT_NE(screening.summary.find("No part of the crop is low"), std::string::npos);
}

TEST(CropScreening, SaysThatALowSpotIgnoresLaterals) {
  const Field field = field_of();
  DrawnCrop noise;
  noise.soil_sd = 1e-6;
  Raster raster = invented::drawn_crop(field, noise, {}, 5);
  for (int row = 0; row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      const Point at = raster.grid.centre(row, column);
      const double off = std::hypot(at.x - invented::west - 54, at.y - invented::south - 30);
      const std::size_t i = raster.grid.index(row, column);
      raster.set(i, double{raster.values[i]} - 0.3 * std::exp(-off * off / 100));
    }
  }
  const CropScreening screening = screen_crop(field, *reader_of(raster), 1, 0, 0.05, 3, {});
  std::string told;
  for (const CropPatch& patch : screening.patches) told += patch.told + "\n";
  ASSERT_EQ(screening.patches.size(), 1U) << told;
  EXPECT_EQ(screening.patches[0].shape, PatchShape::ignores_laterals);
  EXPECT_EQ(screening.patches[0].zone, 1);
  EXPECT_TRUE(contains(screening.patches[0].area, {invented::west + 54, invented::south + 30}));
  EXPECT_LT(screening.patches[0].p, 0.05);
  EXPECT_GT(screening.patches[0].shape_p, 0.05);
  EXPECT_NE(screening.patches[0].told.find("does not follow laterals"), std::string::npos);
}

TEST(CropScreening, DoesNotNameASingleLateralWhereTheLayerIsTooCoarse) {
  DrawnCrop coarse;
  coarse.pixel_m = 3;
  const CropScreening screening = screened(field_of(), {{9, 9, 0, 1e9, 0.4}}, 0, 1, coarse);
  for (const CropPatch& patch : of_shape(screening, PatchShape::follows_laterals))
    EXPECT_GE(patch.laterals, 2);
  ASSERT_EQ(screening.doubts.size(), 1U);
  EXPECT_EQ(screening.doubts[0].code, "crop_single_laterals_not_seen");
}

TEST(CropScreening, LeavesTheHeadlandOut) {
  const std::vector<Lack> turned_over{{0, 47, 0, 6, 0.5}, {9, 9, 0, 1e9, 0.25}};
  const CropScreening screening = screened(field_of(), turned_over, 7);
  for (const CropPatch& patch : screening.patches) {
    if (patch.shape == PatchShape::follows_laterals) continue;
    EXPECT_GE(patch.from_m, 7);
    EXPECT_LE(patch.to_m, 53);
  }
  const auto found = of_shape(screening, PatchShape::follows_laterals);
  ASSERT_EQ(found.size(), 1U);
  EXPECT_EQ(found[0].from_m, 0);  // what is not seen belongs to what begins behind it
  EXPECT_TRUE(found[0].to_the_end);
}

TEST(CropScreening, TellsOutermostLateralsByTheZoneBesideThem) {
  for (const int first : {22, 24}) {  // the last of zone A, the first of zone B
    const CropScreening screening = screened(field_of(), {{first, first + 1, 0, 1e9, 0.25}});
    const auto found = of_shape(screening, PatchShape::follows_laterals);
    ASSERT_EQ(found.size(), 1U) << first;
    EXPECT_EQ(found[0].first_lateral, first);
    EXPECT_EQ(found[0].last_lateral, first + 1);
    EXPECT_FALSE(found[0].at_field_limit);
  }
}

TEST(CropScreening, TellsAGroupThatIsAsWideAsHalfAZone) {
  const CropScreening screening = screened(field_of(), {{4, 19, 30, 1e9, 0.25}});
  const auto found = of_shape(screening, PatchShape::follows_laterals);
  ASSERT_EQ(found.size(), 1U) << screening.summary;
  EXPECT_EQ(found[0].first_lateral, 4);
  EXPECT_EQ(found[0].last_lateral, 19);
  EXPECT_NEAR(found[0].from_m, 30, 5);
  EXPECT_TRUE(found[0].to_the_end);
}

TEST(CropScreening, DoesNotTakeTheStepToAPoorerZoneForAnOutermostLateral) {
  const CropScreening screening = screened(field_of(), {{24, 47, 0, 1e9, 0.15}});
  EXPECT_TRUE(of_shape(screening, PatchShape::follows_laterals).empty());
}

TEST(CropScreening, NamesLateralsAtTheLimitOfTheFieldAndSaysWhyTheyAreNotTold) {
  for (const int first : {0, 45}) {
    const CropScreening screening = screened(field_of(), {{first, first + 2, 0, 1e9, 0.25}});
    EXPECT_TRUE(of_shape(screening, PatchShape::follows_laterals).empty()) << first;
    const auto found = of_shape(screening, PatchShape::not_told);
    const auto at_limit = std::find_if(found.begin(), found.end(),
                                       [](const CropPatch& patch) { return patch.at_field_limit; });
    ASSERT_NE(at_limit, found.end()) << first;
    EXPECT_EQ(at_limit->first_lateral, first);
    EXPECT_EQ(at_limit->last_lateral, first + 2);
    EXPECT_NEAR(at_limit->level, 0.75, 0.06);
    EXPECT_LE(at_limit->shape_p, 0.02);
    EXPECT_NE(at_limit->told.find("limit of the field"), std::string::npos);
    EXPECT_EQ(why_not_told(*at_limit), "beside a limit of the field");
    EXPECT_NE(screening.summary.find("(1 of them beside a limit of the field)"), std::string::npos)
        << screening.summary;
  }
}

TEST(CropScreening, DoesNotDependOnThreads) {
  const std::vector<Lack> lacks{{9, 9, 0, 1e9, 0.25}, {30, 34, 35, 1e9, 0.2}};
  const CropScreening one = screened(field_of(), lacks, 0, 1);
  const CropScreening two = screened(field_of(), lacks, 0, 2);
  ASSERT_EQ(one.patches.size(), two.patches.size());
  for (std::size_t i = 0; i < one.patches.size(); ++i) {
    EXPECT_EQ(one.patches[i].told, two.patches[i].told);
    EXPECT_EQ(one.patches[i].level, two.patches[i].level);
    EXPECT_EQ(one.patches[i].shape_p, two.patches[i].shape_p);
  }
}

TEST(CropScreening, OfNoValuesOrNoLateralsIsEmpty) {
  Field field = field_of();
  const Grid grid = grid_over(field.extent(), 1);
  EXPECT_TRUE(screen_crop(field, *reader_of(Raster(grid)), 1, 0, 0.05, 3, {}).patches.empty());
  field.laterals.clear();
  const auto reader = reader_of(invented::drawn_crop(field_of(), {}, {}, 5));
  EXPECT_TRUE(screen_crop(field, *reader, 1, 0, 0.05, 3, {}).patches.empty());
}

}  // namespace
}  // namespace evendrip
