// SPDX-License-Identifier: Apache-2.0
// Headlands of crop/machine_marks.hpp.
#include "evendrip/crop/machine_marks.hpp"

#include "marked_field.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <utility>

namespace evendrip {
namespace {

using invented::drawn_soil;
using invented::wide_crop;
using invented::wide_field;
using testing::HasSubstr;

/// 15 % less within a width of both limits.
auto planted(double width_m) {
  return [width_m](double, double north) {
    return std::min(north, invented::zone_long_m - north) < width_m ? -0.15 : 0.0;
  };
}

TEST(Headland, IsFoundWithItsWidthAndLevel) {
  const Field field = wide_field(2);
  for (const double width_m : {6.0, 12.0}) {
    const auto soil = drawn_soil(0.05, 11);
    const auto mark = planted(width_m);
    const auto crop = wide_crop(field, 0, 0.1, 12, [&](double east, double north) {
      return mark(east, north) + soil(east, north);
    });
    const Headland found = recognise_headland(field, *crop, {});
    EXPECT_NEAR(found.width_m, width_m, 1) << found.why;
    EXPECT_NEAR(found.level, 0.85, 0.03);
    EXPECT_THAT(found.why, HasSubstr("turning"));
  }
}

TEST(Headland, IsFoundWhereTheLateralsRunAslant) {
  const Field field = wide_field(2, 152);
  const auto crop = wide_crop(field, 152, 0.1, 13, planted(9));
  EXPECT_NEAR(recognise_headland(field, *crop, {}).width_m, 9, 1.5);
}

TEST(Headland, IsFoundBehindAnOutermostCellThroughWhichBareGroundShows) {
  const Field field = wide_field(2);
  const auto crop = wide_crop(field, 0, 0.1, 19, [](double, double north) {
    const double in_m = std::min(north, invented::zone_long_m - north);
    return in_m < 1 ? -0.5 : in_m < 8 ? -0.1 : 0.0;
  });
  const Headland found = recognise_headland(field, *crop, {});
  EXPECT_NEAR(found.width_m, 8, 1) << found.why;
  EXPECT_NEAR(found.level, 0.9, 0.03);
}

TEST(Headland, IsFoundWhereTheCropFallsFromOneEndToTheOther) {
  const Field field = wide_field(2);
  const auto mark = planted(8);
  const auto crop = wide_crop(field, 0, 0.1, 20, [&](double east, double north) {
    return mark(east, north) - 0.3 * north / invented::zone_long_m;
  });
  EXPECT_NEAR(recognise_headland(field, *crop, {}).width_m, 8, 1);
}

TEST(Headland, OfAMapALittleBesideItsPlaceHasTheWiderOfBothWidths) {
  const Field field = wide_field(2);
  const auto crop = wide_crop(field, 0, 0.1, 21, [](double, double north) {
    return north < 9 || north > invented::zone_long_m - 7 ? -0.15 : 0.0;
  });
  EXPECT_NEAR(recognise_headland(field, *crop, {}).width_m, 9, 0.1);
}

/// Behind the step the crop rises and falls, so that a slope beside it would hide it.
TEST(Headland, IsFoundWhereTheCropBehindItRisesAndFalls) {
  const Field field = wide_field(2);
  const auto crop = wide_crop(field, 0, 0.1, 24, [](double, double north) {
    const double in_m = std::min(north, invented::zone_long_m - north);
    return in_m < 7 ? -0.1 : 0.1 * std::max(0.0, 1 - (in_m - 7) / 14);
  });
  EXPECT_NEAR(recognise_headland(field, *crop, {}).width_m, 7, 1.1);
}

TEST(Headland, IsTheOutermostCellWhereTheCropIsCoarse) {
  const Field field = wide_field(2);
  const auto crop = wide_crop(field, 0, 0.05, 22, planted(1));
  EXPECT_NEAR(recognise_headland(field, *crop, {}).width_m, 1, 0.1);
}

TEST(Headland, IsNotASlopeAlone) {
  const Field field = wide_field(2);
  const auto crop = wide_crop(field, 0, 0.05, 23, [](double, double north) {
    return -0.4 * std::abs(north / invented::zone_long_m - 0.5);
  });
  EXPECT_EQ(recognise_headland(field, *crop, {}).width_m, 0);
}

TEST(Headland, IsOneWhereLateralsOfOneZoneRunTheOtherWay) {
  Field field = wide_field(2);
  for (Lateral& lateral : field.laterals)
    if (lateral.zone == 1) std::swap(lateral.line.front(), lateral.line.back());
  const auto crop = wide_crop(field, 0, 0.1, 14, planted(9));
  EXPECT_NEAR(recognise_headland(field, *crop, {}).width_m, 9, 1);
}

TEST(Headland, IsNotAnEndThatAloneIsLow) {
  const Field field = wide_field(2);
  const auto crop = wide_crop(field, 0, 0.1, 15, [](double, double north) {
    return north > invented::zone_long_m - 10 ? -0.2 : 0.0;
  });
  const Headland found = recognise_headland(field, *crop, {});
  EXPECT_EQ(found.width_m, 0);
  EXPECT_THAT(found.why, HasSubstr("only one end"));
}

/// Two zones end to end, fed from their common limit.
Field end_to_end() {
  Field field = wide_field(1);
  Zone south = field.zones.front();
  field.zones.front().area = invented::rectangle(invented::west, invented::south + 60, 60, 60);
  south.id = "S";
  south.area = invented::rectangle(invented::west, invented::south, 60, 60);
  field.zones.push_back(south);
  const std::vector<Lateral> whole = std::exchange(field.laterals, {});
  for (const Lateral& lateral : whole)
    for (int z = 0; z < 2; ++z) {
      Lateral half = lateral;
      half.zone = z;
      half.length_m = 60;
      const double x = lateral.line.front().x;
      half.line = {{x, invented::south + 60}, {x, invented::south + (z == 0 ? 120 : 0)}};
      field.laterals.push_back(half);
    }
  return field;
}

TEST(Headland, IsNotWhatMayBeFarEndsAtBothLimits) {
  const auto crop = wide_crop(wide_field(1), 0, 0.1, 16, planted(6));
  const Headland found = recognise_headland(end_to_end(), *crop, {});
  EXPECT_EQ(found.width_m, 0);
  EXPECT_THAT(found.why, HasSubstr("far ends at both"));
}

TEST(Headland, EndsWhereAnotherZoneGoesOnDoNotCount) {
  Field field = end_to_end();
  for (Lateral& lateral : field.laterals)
    if (lateral.zone == 1) std::swap(lateral.line.front(), lateral.line.back());
  const auto crop = wide_crop(wide_field(1), 0, 0.1, 17, planted(6));
  EXPECT_NEAR(recognise_headland(field, *crop, {}).width_m, 6, 1);
  const auto middle = wide_crop(wide_field(1), 0, 0.1, 17, [](double, double north) {
    return std::abs(north - 60) < 6 ? -0.2 : 0.0;
  });
  EXPECT_EQ(recognise_headland(field, *middle, {}).width_m, 0);
}

TEST(Headland, IsNotFoundInNoiseOrSoil) {
  const Field field = wide_field(2);
  int alarms = 0;
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    const auto crop = wide_crop(field, 0, 0.1, 400 + seed, drawn_soil(0.05, 500 + seed));
    if (recognise_headland(field, *crop, {}).width_m > 0) ++alarms;
  }
  EXPECT_LE(alarms, 2);
}

TEST(Headland, IsNotToldOfTooLittle) {
  const Field field = wide_field(1);
  const auto crop = wide_crop(field, 0, 0.1, 18, planted(9));
  const auto empty = reader_of(Raster(crop->grid()));
  EXPECT_THAT(recognise_headland(field, *empty, {}).why, HasSubstr("too little"));
  EXPECT_THAT(recognise_headland(Field{}, *crop, {}).why, HasSubstr("too little"));
}

}  // namespace
}  // namespace evendrip
