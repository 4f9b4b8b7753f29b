// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/machine_marks.hpp"

#include "marked_field.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

namespace evendrip {
namespace {

using invented::drawn_soil;
using invented::wide_crop;
using invented::wide_field;
using testing::HasSubstr;
using testing::IsEmpty;

double wave(double east_m, double width_m) {
  return std::cos(2 * std::numbers::pi * (east_m - 2) / width_m);
}

TEST(MachineStripes, AreFoundAcrossTwoZones) {
  const Field field = wide_field(2);
  const auto soil = drawn_soil(0.05, 1);
  const auto crop = wide_crop(field, 0, 0.1, 2, [&](double east, double north) {
    return 0.04 * wave(east, 9) + soil(east, north);
  });
  const std::vector<MachineStripe> stripes = machine_stripes(field, *crop, {}, {});
  ASSERT_EQ(stripes.size(), 1U);
  EXPECT_NEAR(stripes[0].width_m, 9, 0.2);
  EXPECT_NEAR(stripes[0].amplitude, 0.04, 0.01);
  EXPECT_LT(stripes[0].p, 0.05);
  EXPECT_TRUE(stripes[0].crosses_zones);
  EXPECT_FALSE(stripes[0].stated);
  EXPECT_THAT(stripes[0].told, HasSubstr("run through 2 zones"));
}

TEST(MachineStripes, AreFoundWhereTheLateralsRunAslant) {
  for (const double turn_deg : {32.0, 111.0}) {
    const Field field = wide_field(2, turn_deg);
    const auto crop = wide_crop(field, turn_deg, 0.1, 3,
                                [&](double east, double) { return 0.04 * wave(east, 9); });
    const std::vector<MachineStripe> stripes = machine_stripes(field, *crop, {}, {});
    ASSERT_FALSE(stripes.empty());
    EXPECT_NEAR(stripes[0].width_m, 9, 0.2);
    EXPECT_TRUE(stripes[0].crosses_zones);
    EXPECT_LT(stripes[0].p, 1e-4);
    // One set of noise in twenty holds a period by chance, but a weak one.
    for (std::size_t i = 1; i < stripes.size(); ++i)
      EXPECT_LT(stripes[i].amplitude, stripes[0].amplitude / 4) << stripes[i].told;
  }
}

TEST(MachineStripes, OfAStatedImplementAreNamedAsItsOwn) {
  const Field field = wide_field(2);
  const auto passes = [](double east, double) { return 0.02 * wave(east, 12); };
  const auto crop = wide_crop(field, 0, 0.1, 4, passes);
  for (const double width_m : {12.0, 6.0}) {  // once, and there and back
    const std::vector<MachineStripe> stripes = machine_stripes(field, *crop, {width_m, 24}, {});
    ASSERT_EQ(stripes.size(), 1U);
    EXPECT_NEAR(stripes[0].width_m, 12, 0.3);
    EXPECT_TRUE(stripes[0].stated);
    EXPECT_THAT(stripes[0].told, HasSubstr("stated implement, once or there and back"));
  }
}

TEST(MachineStripes, AreNotTheLateralSpacingItself) {
  Field field = wide_field(2);
  for (Zone& zone : field.zones) zone.lateral.spacing_m = 6;
  const auto crop =
      wide_crop(field, 0, 0.1, 5, [&](double east, double) { return 0.05 * wave(east, 6); });
  EXPECT_THAT(machine_stripes(field, *crop, {6}, {}), IsEmpty());
}

TEST(MachineStripes, ThatEndAtAZonesLimitAreNotBlamedOnAMachine) {
  const Field field = wide_field(2);
  const auto one_zone = [](double east, double) { return east < 60 ? 0.05 * wave(east, 9) : 0; };
  const auto crop = wide_crop(field, 0, 0.1, 6, one_zone);
  EXPECT_THAT(machine_stripes(field, *crop, {}, {}), IsEmpty());
  const Field whole = wide_field(2);
  const auto both =
      wide_crop(whole, 0, 0.1, 6, [](double east, double) { return 0.05 * wave(east, 9); });
  EXPECT_EQ(machine_stripes(whole, *both, {}, {}).size(), 1U);
}

TEST(MachineStripes, InAFieldOfOneZoneNeedAStatedWidth) {
  const Field field = wide_field(1);
  const auto crop =
      wide_crop(field, 0, 0.1, 7, [](double east, double) { return 0.05 * wave(east, 6); });
  EXPECT_THAT(machine_stripes(field, *crop, {}, {}), IsEmpty());
  const std::vector<MachineStripe> stripes = machine_stripes(field, *crop, {6}, {});
  ASSERT_EQ(stripes.size(), 1U);
  EXPECT_FALSE(stripes[0].crosses_zones);
  EXPECT_TRUE(stripes[0].stated);
}

TEST(MachineStripes, AreNotAFewWeakLaterals) {
  const Field field = wide_field(2);
  const auto weak = [](double east, double) {
    for (const double at : {21.0, 36.0, 85.5, 87.0})
      if (std::abs(east - at) < 0.75) return -0.3;
    return 0.0;
  };
  const auto crop = wide_crop(field, 0, 0.05, 8, weak);
  EXPECT_THAT(machine_stripes(field, *crop, {}, {}), IsEmpty());
}

TEST(MachineStripes, InNoiseComeNoOftenerThanTheirLevel) {
  const Field field = wide_field(2);
  int alarms = 0;
  for (std::uint64_t seed = 0; seed < 60; ++seed) {
    const auto crop = wide_crop(field, 0, 0.1, 100 + seed, [](double, double) { return 0.0; });
    if (!machine_stripes(field, *crop, {}, {}).empty()) ++alarms;
  }
  RecordProperty("alarms_of_60", alarms);
  EXPECT_LE(alarms, 8);  // 3 are due; more than 8 twice in a thousand
}

TEST(MachineStripes, AreNotFoundInSoil) {
  const Field field = wide_field(2);
  int alarms = 0;
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    const auto crop = wide_crop(field, 0, 0.05, 200 + seed, drawn_soil(0.1, 300 + seed));
    if (!machine_stripes(field, *crop, {9, 6}, {}).empty()) ++alarms;
  }
  RecordProperty("alarms_of_40", alarms);
  EXPECT_LE(alarms, 6);  // 2 are due; more than 6 three times in a thousand
}

TEST(MachineStripes, DoNotDependOnTheNumberOfThreads) {
  const Field field = wide_field(3);
  const auto crop =
      wide_crop(field, 0, 0.1, 9, [](double east, double) { return 0.03 * wave(east, 9); });
  Work two;
  two.threads = 2;
  const auto one = machine_stripes(field, *crop, {}, {});
  const auto other = machine_stripes(field, *crop, {}, two);
  ASSERT_EQ(one.size(), other.size());
  ASSERT_FALSE(one.empty());
  EXPECT_EQ(one[0].width_m, other[0].width_m);
  EXPECT_EQ(one[0].p, other[0].p);
}

TEST(MachineStripes, AreNoneWithoutLateralsOrValues) {
  Field bare = wide_field(1);
  const auto crop = wide_crop(bare, 0, 0.1, 10, [](double, double) { return 0.0; });
  bare.laterals.clear();
  EXPECT_THAT(machine_stripes(bare, *crop, {9}, {}), IsEmpty());
  const Field field = wide_field(1);
  const auto empty = reader_of(Raster(crop->grid()));
  EXPECT_THAT(machine_stripes(field, *empty, {9}, {}), IsEmpty());
  EXPECT_THAT(machine_stripes(Field{}, *crop, {9}, {}), IsEmpty());
}

}  // namespace
}  // namespace evendrip
