// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/field.hpp"

#include "field_folder.hpp"

namespace evendrip {
namespace {

TEST(EmitterStation, CountsFromTheFirstOffset) {
  EmitterSpec spec;
  spec.spacing_m = 0.5;
  spec.first_offset_m = 0.2;
  EXPECT_DOUBLE_EQ(emitter_station_m(spec, 1), 0.2);
  EXPECT_DOUBLE_EQ(emitter_station_m(spec, 5), 2.2);
}

TEST(PlaceOnLateral, ShortensGroundLengthByTheScaleFactor) {
  const Field field = read_field(testing::FieldFolder().write());
  ASSERT_FALSE(field.laterals.empty());
  const Point start = place_on_lateral(field, 0, 0);
  const Point along = place_on_lateral(field, 0, 40);
  EXPECT_NEAR(along.x - start.x, 40 * testing::utm_scale, 1e-4);
  EXPECT_NEAR(along.y, start.y, 1e-9);
}

TEST(FieldExtent, HoldsZonesAndLaterals) {
  Field field;
  field.zones.push_back({});
  field.zones[0].area = {{{{0, 0}, {10, 0}, {10, 5}, {0, 5}}, {}}};
  field.laterals.push_back({"L1", 0, {{-1, 2}, {9, 2}}, 10, 20});
  const Extent extent = field.extent();
  EXPECT_DOUBLE_EQ(extent.x_min, -1);
  EXPECT_DOUBLE_EQ(extent.x_max, 10);
  EXPECT_DOUBLE_EQ(extent.y_max, 5);
}

TEST(ZoneArea, IsTrueOnTheGround) {
  const Field field = read_field(testing::FieldFolder().write());
  ASSERT_FALSE(field.zones.empty());
  EXPECT_NEAR(field.zone_area_ha(0), 0.6 / (testing::utm_scale * testing::utm_scale), 1e-6);
}

}  // namespace
}  // namespace evendrip
