// SPDX-License-Identifier: Apache-2.0
#include "../../src/crop/turned_zone.hpp"

#include "marked_field.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

using invented::wide_crop;
using invented::wide_field;

Raster raster_of(const RasterReader& reader) {
  return reader.read({0, 0, reader.grid().rows, reader.grid().columns});
}

TEST(TurnedZone, HoldsEveryWholeCellWhereLateralsRunNorth) {
  const Field field = wide_field(2);
  const auto crop = wide_crop(field, 0, 0, 1, [](double e, double n) { return e + 1000 * n; });
  const Raster raster = raster_of(*crop);
  const TurnedZone zone = turned(raster, field, 1, *bearing_of_laterals(field, 1));
  ASSERT_EQ(zone.across, 60U);
  ASSERT_EQ(zone.along, 120U);
  for (std::size_t u = 0; u < zone.across; ++u)
    for (std::size_t v = 0; v < zone.along; ++v) {
      const double e = 60.5 + static_cast<double>(u);
      const double n = 0.5 + static_cast<double>(v);
      ASSERT_NEAR(zone.at(u, v), 1 + e + 1000 * n, 0.01);
      const Point place = zone.place(u, static_cast<double>(v));
      ASSERT_NEAR(place.x, invented::west + e, 1e-6);
      ASSERT_NEAR(place.y, invented::south + n, 1e-6);
    }
}

TEST(TurnedZone, PutsWhatLiesAcrossInItsBinAtAnyBearing) {
  for (const double turn_deg : {32.0, 90.0, 200.0}) {
    const Field field = wide_field(2, turn_deg);
    const auto crop = wide_crop(field, turn_deg, 0, 1, [](double e, double) { return e; });
    const TurnedZone zone = turned(raster_of(*crop), field, 0, *bearing_of_laterals(field, 0));
    const AcrossProfile profile = across_profile(zone, 0, 1);
    ASSERT_GT(profile.at_m.size(), 50U);
    for (std::size_t i = 1; i < profile.at_m.size(); ++i) {
      const double step_m = profile.at_m[i] - profile.at_m[i - 1];
      EXPECT_NEAR(step_m, 1, 0.5) << turn_deg;
      EXPECT_NEAR(profile.mean[i] - profile.mean[i - 1], step_m, 0.01) << turn_deg;
    }
  }
}

TEST(TurnedZone, KeepsTheAxisWithinARightAngle) {
  EXPECT_NEAR(along_axis(179.9, 0.2), -0.1, 1e-12);
  EXPECT_NEAR(along_axis(200, 10), 20, 1e-12);
  EXPECT_NEAR(along_axis(10, 200), 190, 1e-12);
}

TEST(TurnedZone, IsEmptyWithoutLateralsOrCells) {
  Field field = wide_field(1);
  const auto crop = wide_crop(field, 0, 0, 1, [](double, double) { return 0.0; });
  EXPECT_EQ(turned(Raster(crop->grid()), field, 0, 0).across, 0U);
  EXPECT_TRUE(across_profile(turned(Raster(crop->grid()), field, 0, 0), 0, 1).at_m.empty());
  field.laterals.clear();
  EXPECT_FALSE(bearing_of_laterals(field, 0));
}

}  // namespace
}  // namespace evendrip
