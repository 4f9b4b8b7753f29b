// SPDX-License-Identifier: Apache-2.0
// What screening says of many invented fields whose truth is known.
#include "evendrip/crop/patches.hpp"

#include "drawn_crop.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using invented::DrawnCrop;
using invented::Lack;

constexpr double spacing_m = 1.5;
constexpr int laterals = 40;
constexpr double length_m = 120;

struct Told {
  int fields = 0;
  int follows = 0;  ///< fields with a patch told to follow laterals
  int zones = 0;    ///< fields with a zone told to be low
  int patches = 0;  ///< patches of any shape
  int ignores = 0;  ///< patches told to ignore laterals
  int not_told = 0;
  int at_limits = 0;  ///< fields with a run at a limit of the field
  int right = 0;      ///< fields whose planted lack was told by its laterals
};

bool tells(const CropScreening& screening, const Lack& lack) {
  for (const CropPatch& patch : screening.patches) {
    if (patch.shape != PatchShape::follows_laterals) continue;
    if (std::abs(patch.first_lateral - lack.first_lateral) <= 1 &&
        std::abs(patch.last_lateral - lack.last_lateral) <= 1 &&
        std::abs(patch.from_m - lack.from_m) <= 15)
      return true;
  }
  return false;
}

Told screened(const DrawnCrop& how, const std::vector<Lack>& lacks, int fields) {
  const Field field = invented::wide_field(spacing_m, laterals, length_m);
  Told told;
  Work work;
  work.threads = 2;
  for (int i = 0; i < fields; ++i) {
    const auto reader =
        reader_of(invented::drawn_crop(field, how, lacks, static_cast<std::uint64_t>(1000 + i)));
    const CropScreening screening = screen_crop(field, *reader, how.blur * how.pixel_m, 0, 0.05,
                                                static_cast<std::uint64_t>(i), work);
    ++told.fields;
    bool follows = false;
    bool zone = false;
    bool at_limit = false;
    for (const CropPatch& patch : screening.patches) {
      ++told.patches;
      follows = follows || patch.shape == PatchShape::follows_laterals;
      zone = zone || patch.shape == PatchShape::follows_zone;
      at_limit = at_limit || patch.at_field_limit;
      if (patch.shape == PatchShape::ignores_laterals) ++told.ignores;
      if (patch.shape == PatchShape::not_told) ++told.not_told;
    }
    if (follows) ++told.follows;
    if (zone) ++told.zones;
    if (at_limit) ++told.at_limits;
    if (!lacks.empty() && tells(screening, lacks.front())) ++told.right;
  }
  return told;
}

/// With 40 fields a share of 5 % gives more than 4 false ones in 5 of 100 such tests (binomial).
constexpr int fields = 40;
constexpr int most_false = 4;

/// In the report of the test, each under its name.
void record(const Told& told, const std::string& name = "") {
  const auto put = [&](const char* what, int count) {
    testing::Test::RecordProperty(name + what, count);
  };
  put("fields", told.fields);
  put("follows_laterals", told.follows);
  put("follows_zone", told.zones);
  put("right", told.right);
  put("patches", told.patches);
  put("ignores_laterals", told.ignores);
  put("not_told", told.not_told);
  put("at_limits", told.at_limits);
}

class CropScreeningOfManyFields : public testing::TestWithParam<double> {
 protected:
  DrawnCrop drawn() const {
    DrawnCrop how;
    how.pixel_m = GetParam();
    return how;
  }
};

TEST_P(CropScreeningOfManyFields, FindsFewPatchesInNoise) {
  DrawnCrop how = drawn();
  how.soil_sd = 1e-6;
  const Told told = screened(how, {}, fields);
  record(told);
  EXPECT_LE(told.follows, most_false);
  EXPECT_LE(told.zones, most_false);
  EXPECT_LE(told.patches, 2 * most_false);
}

TEST_P(CropScreeningOfManyFields, SeldomTellsSoilToFollowLaterals) {
  for (const double range_m : {10.0, 20.0, 40.0}) {
    DrawnCrop how = drawn();
    how.soil_range_m = range_m;
    const Told told = screened(how, {}, fields);
    record(told, "range_" + std::to_string(static_cast<int>(range_m)) + "_");
    EXPECT_LE(told.follows, most_false) << range_m;
    EXPECT_LE(told.zones, most_false) << range_m;
    EXPECT_GT(told.ignores, told.follows) << range_m;
  }
}

TEST_P(CropScreeningOfManyFields, MostlyFindsOneWeakLateral) {
  const Told told = screened(drawn(), {{17, 17, 0, 1e9, 0.2}}, fields);
  record(told);
  EXPECT_GE(told.right, fields * 8 / 10);
}

TEST_P(CropScreeningOfManyFields, MostlyFindsAGroupOfLateralsFromAStationOn) {
  const Told told = screened(drawn(), {{20, 25, 60, 1e9, 0.2}}, fields);
  record(told);
  EXPECT_GE(told.right, fields * 8 / 10);
}

TEST_P(CropScreeningOfManyFields, MostlyFindsHalfAZoneFromAStationOn) {
  const Told told = screened(drawn(), {{10, 29, 60, 1e9, 0.2}}, fields);
  record(told);
  EXPECT_GE(told.right, fields * 8 / 10);
}

TEST_P(CropScreeningOfManyFields, MostlyFindsAZoneThatIsLow) {
  const Told told = screened(drawn(), {{laterals, 2 * laterals - 1, 0, 1e9, 0.12}}, fields);
  record(told);
  EXPECT_GE(told.zones, fields * 8 / 10);
}

TEST_P(CropScreeningOfManyFields, MostlyFindsTheOutermostLateralsBesideAZone) {
  const Told told = screened(drawn(), {{laterals, laterals + 2, 0, 1e9, 0.2}}, fields);
  record(told);
  EXPECT_GE(told.right, fields * 7 / 10);
}

TEST_P(CropScreeningOfManyFields, SeldomNamesRunsAtLimitsOfTheFieldInSoil) {
  for (const double range_m : {10.0, 20.0, 40.0}) {
    DrawnCrop how = drawn();
    how.soil_range_m = range_m;
    const Told told = screened(how, {}, fields);
    record(told, "range_" + std::to_string(static_cast<int>(range_m)) + "_");
    EXPECT_LE(told.at_limits, most_false) << range_m;
  }
}

TEST_P(CropScreeningOfManyFields, IsSilentRatherThanWrongAboutAFaintFault) {
  const Told told = screened(drawn(), {{17, 17, 40, 1e9, 0.08}}, fields);
  record(told);
  EXPECT_LE(told.follows - told.right, most_false);
}

INSTANTIATE_TEST_SUITE_P(Pixels, CropScreeningOfManyFields, testing::Values(1.0, 3.0));

}  // namespace
}  // namespace evendrip
