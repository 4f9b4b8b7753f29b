// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/sharp_patches.hpp"

#include "dense_zone.hpp"
#include "likelihood_slopes.hpp"
#include "outlined_zone.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <stdexcept>

namespace evendrip {
namespace {

using test::corner;
using test::outlined_zone;

ConditionParameters parameters() {
  ConditionParameters p;
  p.own = 0.05;
  p.soil_short = 0.03;
  p.response = 0.6;
  return p;
}

ZoneModel model_of(const test::DrawnZone& zone) {
  return {zone.grid, zone.holes, zone.crop, zone.ranges};
}

/// Ends along the laterals to a quarter of a segment, where the crop sees no better.
void expect_patch(const SharpPatch& found, const SharpPatch& wanted) {
  EXPECT_EQ(found.first_row, wanted.first_row);
  EXPECT_EQ(found.end_row, wanted.end_row);
  EXPECT_NEAR(found.from_m, wanted.from_m, 2.5);
  EXPECT_NEAR(found.to_m, wanted.to_m, 2.5);
}

constexpr SharpPatch of_soil{3, 8, 24, 50, true};  // from within a segment

TEST(SharpPatches, HaveTheLikelihoodOfTheDenseModel) {
  const ConditionParameters p = parameters();
  const test::DrawnZone zone = test::drawn_zone(p, 4);
  ZoneModel model = model_of(zone);
  model.set_patches({corner, of_soil});
  test::DenseZone dense = test::dense_zone(zone.grid, zone.holes, zone.crop, zone.ranges, p);
  const auto n_holes = static_cast<Eigen::Index>(zone.holes.size());
  for (const SharpPatch& patch : model.patches()) {
    const std::vector<double> share = share_of_segments(zone.grid, patch);
    Eigen::VectorXd seen =
        dense.rows * Eigen::Map<const Eigen::VectorXd>(share.data(), zone.grid.segments());
    double sd = patch_sd;
    if (patch.of_soil) {
      sd = soil_patch_sd;
      seen /= p.response;
      seen.head(n_holes).setZero();
    }
    dense.covariance += test::square(sd) * seen * seen.transpose();
  }
  EXPECT_NEAR(*model.log_likelihood(p), dense.log_likelihood(), 1e-7);
  model.set_patches({});
  EXPECT_NEAR(*model.log_likelihood(p),
              test::dense_zone(zone.grid, zone.holes, zone.crop, zone.ranges, p).log_likelihood(),
              1e-7);
}

TEST(SharpPatches, HaveTheSlopeOfTheirLikelihood) {
  const ConditionParameters p = parameters();
  const test::DrawnZone zone = test::drawn_zone(p, 5);
  ZoneModel model = model_of(zone);
  model.set_patches({corner, of_soil});
  test::expect_slopes(model, p, 1e-5);
}

TEST(SharpPatches, AreInTheLocalPartOrInTheSoil) {
  const test::DrawnZone zone = outlined_zone(corner, 0.4, 1);
  const ConditionParameters p = parameters();
  ZoneModel model = model_of(zone);
  const auto in = static_cast<std::size_t>(zone.grid.segment(2, 10));
  model.set_patches({corner});
  const auto water = model.estimate(p);
  ASSERT_TRUE(water);
  EXPECT_NEAR(water->r[in], 0.4, 0.1);
  EXPECT_LT(water->local[in], -0.4);
  for (int segment = 0; segment < zone.grid.segments(); ++segment) {
    const auto i = static_cast<std::size_t>(segment);
    const auto row = static_cast<std::size_t>(segment / zone.grid.stations());
    const auto station = static_cast<std::size_t>(segment % zone.grid.stations());
    EXPECT_NEAR(water->r[i],
                1 + water->level + water->along[station] + water->own[row] + water->group[row] +
                    water->local[i],
                1e-9);
  }
  SharpPatch soil = corner;
  soil.of_soil = true;
  model.set_patches({soil});
  const auto other = model.estimate(p);
  ASSERT_TRUE(other);
  EXPECT_LT(other->soil[in], -0.2);
  EXPECT_GT(other->local[in], -0.4);
}

TEST(SharpPatches, AreWithinTheGridAndHaveACrop) {
  const test::DrawnZone zone = outlined_zone(corner, 0.4, 1);
  ZoneModel model = model_of(zone);
  EXPECT_THROW(model.set_patches({{0, 0, 0, 10}}), std::invalid_argument);
  EXPECT_THROW(model.set_patches({{0, 25, 0, 10}}), std::invalid_argument);
  EXPECT_THROW(model.set_patches({{0, 1, 20, 20}}), std::invalid_argument);
  EXPECT_THROW(model.set_patches(std::vector<SharpPatch>(most_patches + 1, corner)),
               std::invalid_argument);
  EXPECT_TRUE(model.patches().empty());
  ZoneModel bare(zone.grid, zone.holes, {}, zone.ranges);
  EXPECT_THROW(bare.set_patches({corner}), std::invalid_argument);
  EXPECT_FALSE(find_patch(bare, parameters()));
}

TEST(SegmentScores, AreTheSlopesOfTheLikelihoodWithTheKnownChange) {
  const ConditionParameters p = parameters();
  const test::DrawnZone zone = test::drawn_zone(p, 6);
  ZoneModel model = model_of(zone);
  const std::vector<double> scores = model.segment_scores(p);
  ASSERT_EQ(scores.size(), static_cast<std::size_t>(zone.grid.segments()));
  const HoleDatum& hole = zone.holes[2];
  for (const int segment : {0, 100, zone.grid.segment(hole.row, hole.station)}) {
    const auto at = [&](double by) {
      std::vector<double> change(scores.size(), 0);
      change[static_cast<std::size_t>(segment)] = by;
      model.set_known_change(change);
      return *model.log_likelihood(p);
    };
    EXPECT_NEAR(scores[static_cast<std::size_t>(segment)], (at(1e-3) - at(-1e-3)) / 2e-3, 1e-4);
  }
}

TEST(FindPatch, FindsTheLateralsAndStationsThatAreLow) {
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const test::DrawnZone zone = outlined_zone(corner, 0.4, seed);
    const auto found = find_patch(model_of(zone), parameters());
    ASSERT_TRUE(found);
    expect_patch(found->patch, corner);
    EXPECT_GT(found->gain, needed_gain(zone.grid)) << seed;
  }
}

TEST(FindPatch, FindsItInALargeZoneToo) {
  const SegmentGrid grid = test::small_grid(60, 60);
  const SharpPatch low{11, 19, 250, 430};
  const test::DrawnZone zone = outlined_zone(low, 0.5, 1, grid);
  const ZoneModel model = model_of(zone);
  ASSERT_NE(model.coarser(), nullptr);
  const auto found = find_patch(model, parameters());
  ASSERT_TRUE(found);
  expect_patch(found->patch, low);
}

// A pixel of 2 m sees where within a segment the low place begins, and so does a hole.
TEST(FindPatch, FindsItsEndToTheMetreWhereTheCropDoes) {
  test::DrawnZone zone = outlined_zone({4, 12, 63, 90}, 0.5, 2);
  const std::vector<CropDatum> coarse = zone.crop;
  zone.crop.clear();
  std::mt19937_64 stream(3);
  std::normal_distribution<double> noise(0, 0.03);
  for (const CropDatum& datum : coarse)
    for (const double off_m : {-4.0, -2.0, 0.0, 2.0, 4.0}) {
      CropDatum pixel = datum;
      const int row = datum.segments.front() / zone.grid.stations();
      pixel.place.y += off_m;
      pixel.station_m = pixel.place.y;
      pixel.length_m = 2;
      const bool low = row >= 4 && row < 12 && pixel.station_m >= 63 && pixel.station_m < 90;
      pixel.value = 1 + (low ? -0.4 : 0) + noise(stream);
      zone.crop.push_back(pixel);
    }
  const auto found = find_patch(model_of(zone), parameters());
  ASSERT_TRUE(found);
  EXPECT_EQ(found->patch.first_row, 4);
  EXPECT_EQ(found->patch.end_row, 12);
  // Pixels end at 62 and 64.
  EXPECT_NEAR(found->patch.from_m, 62, 1);
  EXPECT_NEAR(found->patch.to_m, 90, 1);
}

TEST(TestedPatches, AreTheResponsesOfTheirSegments) {
  const ConditionParameters p = parameters();
  const test::DrawnZone zone = test::drawn_zone(p, 7);
  const ZoneModel model = model_of(zone);
  const std::vector<SharpPatch> patches = {corner, {3, 8, 24, 50}};
  std::vector<std::vector<double>> responses;
  for (const SharpPatch& patch : patches) responses.push_back(share_of_segments(zone.grid, patch));
  const auto wanted = model.tested_responses(p, responses);
  const auto found = model.tested_patches(p, patches);
  ASSERT_EQ(found.size(), 2U);
  for (std::size_t i = 0; i < found.size(); ++i) {
    EXPECT_NEAR(found[i].amount, wanted[i].amount, 1e-9);
    EXPECT_NEAR(found[i].gain, wanted[i].gain, 1e-9);
  }
}

TEST(ShareOfSegments, IsWhatOfASegmentIsInThePatch) {
  const SegmentGrid grid = test::small_grid();
  const std::vector<double> share = share_of_segments(grid, {2, 4, 24, 50});
  const auto at = [&](int row, int station) {
    return share[static_cast<std::size_t>(grid.segment(row, station))];
  };
  EXPECT_EQ(at(2, 1), 0);
  EXPECT_NEAR(at(2, 2), 0.6, 1e-12);
  EXPECT_EQ(at(3, 3), 1);
  EXPECT_EQ(at(3, 5), 0);
  EXPECT_EQ(at(4, 3), 0);
}

TEST(FindPatch, GainsLittleWhereNothingEndsSharply) {
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const test::DrawnZone zone = test::drawn_zone(parameters(), seed);
    const auto found = find_patch(model_of(zone), parameters());
    EXPECT_TRUE(!found || found->gain < needed_gain(zone.grid)) << seed;
  }
}

TEST(FindPatch, LeavesAloneWhatNoHoleHit) {
  test::DrawnZone zone = outlined_zone(corner, 0.4, 1);
  std::erase_if(zone.holes, [](const HoleDatum& hole) {
    return hole.row < corner.end_row && 10 * hole.station >= corner.from_m;
  });
  const auto found = find_patch(model_of(zone), parameters());
  EXPECT_TRUE(!found || found->patch != corner);
}

TEST(FindPatch, IsNoNarrowerThanWhatTheCropShows) {
  test::DrawnZone zone = outlined_zone({9, 10, 40, 120}, 0.3, 1);
  expect_patch(find_patch(model_of(zone), parameters())->patch, {9, 10, 40, 120});
  const std::vector<CropDatum> sharp = zone.crop;
  for (CropDatum& datum : zone.crop) {  // each mixes three laterals
    const int segment = datum.segments.front();
    const int stations = zone.grid.stations();
    const int row = std::min(std::max(segment / stations, 1), zone.grid.rows() - 2);
    datum.segments.clear();
    datum.value = 0;
    for (const int other : {row - 1, row, row + 1}) {
      datum.segments.push_back(zone.grid.segment(other, segment % stations));
      datum.value += sharp[static_cast<std::size_t>(datum.segments.back())].value / 3;
    }
    datum.weights.assign(3, 1.0 / 3);
    datum.sees_laterals = false;
  }
  const ZoneModel coarse = model_of(zone);
  ASSERT_EQ(coarse.laterals_seen(), 3);
  const auto found = find_patch(coarse, parameters());
  EXPECT_TRUE(!found || found->patch.end_row - found->patch.first_row >= 3);
}

TEST(NeededGain, IsThatOfAllRectanglesAndOneZoneInTen) {
  // 24 x 25 / 2 runs of laterals, 12 x 13 / 2 of stations.
  EXPECT_NEAR(needed_gain(test::small_grid()), std::log(300 * 78 * 10), 1e-12);
}

}  // namespace
}  // namespace evendrip
