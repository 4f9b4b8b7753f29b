// SPDX-License-Identifier: Apache-2.0
// What screening says of low laterals where machines went along them.
#include "evendrip/crop/patches.hpp"

#include "drawn_crop.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

namespace evendrip {
namespace {

using invented::drawn_crop;
using invented::DrawnCrop;
using invented::south;
using invented::west;
using invented::wide_field;
using testing::HasSubstr;
using testing::SizeIs;

constexpr double wide_m = 72;
constexpr double long_m = 60;

/// Two zones of 24 laterals 1.5 m apart that run north.
Field field_of() {
  return wide_field(1.5, 24, long_m);
}

/// Records of passes over all of the field on one heading and back, 2 m apart; each heading is
/// off by some degrees.
CropEvidence log_of(double swath_m, double heading_deg) {
  CropEvidence evidence;
  evidence.kind = "yield";
  evidence.passes = true;
  std::mt19937_64 stream = item_stream(9, {1});
  std::normal_distribution<double> off(0, 3);
  const double angle = heading_deg * std::numbers::pi / 180;
  const double reach_m = wide_m + long_m;
  for (int pass = 0; (pass + 0.5) * swath_m < 2 * reach_m; ++pass)
    for (double along = -reach_m; along < reach_m; along += 2) {
      const double across = (pass + 0.5) * swath_m - reach_m;
      EvidenceDatum datum;
      datum.place = {west + wide_m / 2 + along * std::sin(angle) + across * std::cos(angle),
                     south + long_m / 2 + along * std::cos(angle) - across * std::sin(angle)};
      if (datum.place.x < west || datum.place.x > west + wide_m || datum.place.y < south ||
          datum.place.y > south + long_m)
        continue;
      datum.value = 9;
      datum.along_m = 2;
      datum.across_m = static_cast<float>(swath_m);
      datum.heading_deg = static_cast<float>(heading_deg + (pass % 2 == 0 ? 0 : 180) + off(stream));
      evidence.data.push_back(datum);
    }
  evidence.typical = {2, swath_m, 0.5, heading_deg};
  evidence.median = 9;
  return evidence;
}

CropScreening screened(const RasterReader& rest, const CropEvidence* evidence) {
  return screen_crop(field_of(), rest, 1, 0, 0.05, 3, {}, evidence);
}

long following(const CropScreening& screening) {
  return std::count_if(
      screening.patches.begin(), screening.patches.end(),
      [](const CropPatch& patch) { return patch.shape == PatchShape::follows_laterals; });
}

TEST(LowLaterals, AreNotToldFromPassesThatRunAlongThem) {
  const auto rest = reader_of(drawn_crop(field_of(), {}, {{8, 11, 0, 1e9, 0.25}}, 5));
  const CropEvidence log = log_of(6, 0);
  const CropScreening screening = screened(*rest, &log);
  EXPECT_EQ(following(screening), 0);
  ASSERT_FALSE(screening.patches.empty());
  const CropPatch& patch = screening.patches[0];
  EXPECT_EQ(patch.shape, PatchShape::not_told);
  EXPECT_TRUE(patch.runs_with_passes);
  EXPECT_EQ(patch.first_lateral, 8);
  EXPECT_EQ(patch.last_lateral, 11);
  EXPECT_THAT(patch.told, HasSubstr("passes of a machine and laterals run alike"));
  EXPECT_THAT(patch.told, HasSubstr("Dig or gauge here"));
  EXPECT_EQ(why_not_told(patch), "along passes of a machine");
  EXPECT_THAT(screening.summary, HasSubstr("along passes of a machine)"));
}

TEST(LowLaterals, AreToldWherePassesRunAcrossThem) {
  const auto rest = reader_of(drawn_crop(field_of(), {}, {{8, 11, 0, 1e9, 0.25}}, 5));
  for (const double heading_deg : {90.0, 50.0, 135.0}) {
    const CropEvidence log = log_of(6, heading_deg);
    const CropScreening screening = screened(*rest, &log);
    EXPECT_EQ(following(screening), 1) << heading_deg;
  }
  EXPECT_EQ(following(screened(*rest, nullptr)), 1);
}

TEST(LowLaterals, ThatPassesLeaveSlowlyAreNotTold) {
  // Over 60 m a pass at 8 degrees drifts by 8.4 m; its swath is 6 m and the run as wide.
  const auto rest = reader_of(drawn_crop(field_of(), {}, {{8, 11, 0, 1e9, 0.25}}, 5));
  const CropEvidence log = log_of(6, 8);
  EXPECT_EQ(following(screened(*rest, &log)), 0);
}

/// Pixels of a metre with stripes of 9 m.
Raster striped(std::uint64_t seed, const std::vector<invented::Lack>& lacks) {
  DrawnCrop how;
  how.soil_sd = 0.02;
  Raster raster = drawn_crop(field_of(), how, lacks, seed);
  for (int row = 0; row < raster.grid.rows; ++row)
    for (int column = 0; column < raster.grid.columns; ++column) {
      const std::size_t i = raster.grid.index(row, column);
      const double east = raster.grid.centre(row, column).x - west;
      const double wave = 0.1 * std::cos(2 * std::numbers::pi * east / 9);
      raster.set(i, static_cast<double>(raster.values[i]) + wave);
    }
  return raster;
}

CropEvidence pixels_of(const Raster& raster) {
  CropEvidence evidence;
  for (int row = 0; row < raster.grid.rows; ++row)
    for (int column = 0; column < raster.grid.columns; ++column) {
      EvidenceDatum datum;
      datum.place = raster.grid.centre(row, column);
      datum.value = static_cast<double>(raster.values[raster.grid.index(row, column)]);
      datum.along_m = datum.across_m = 1;
      evidence.data.push_back(datum);
    }
  evidence.typical = {1, 1, 0, 0};
  evidence.median = 1;
  return evidence;
}

TEST(StripesOfMachines, AreNotTakenForLateralsOnceTheyAreTakenOut) {
  int before = 0;
  int after = 0;
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    const Raster raster = striped(seed, {});
    CropEvidence evidence = pixels_of(raster);
    const auto reader = reader_of(raster);
    before += following(screened(*reader, &evidence)) > 0 ? 1 : 0;
    mark_machine_stripes(evidence, field_of(), machine_stripes(field_of(), *reader, {9}, {}));
    ASSERT_THAT(evidence.waves, SizeIs(1)) << seed;
    after += following(screened(*reader, &evidence)) > 0 ? 1 : 0;
  }
  EXPECT_GE(before, 3);
  EXPECT_LE(after, 1);
}

TEST(StripesOfMachines, DoNotHideALateralBesideThem) {
  const Raster raster = striped(3, {{15, 15, 0, 1e9, 0.3}});
  CropEvidence evidence = pixels_of(raster);
  const auto reader = reader_of(raster);
  mark_machine_stripes(evidence, field_of(), machine_stripes(field_of(), *reader, {9}, {}));
  const CropScreening screening = screened(*reader, &evidence);
  ASSERT_EQ(following(screening), 1);
  EXPECT_EQ(screening.patches[0].first_lateral, 15);
  EXPECT_EQ(screening.patches[0].last_lateral, 15);
}

}  // namespace
}  // namespace evendrip
