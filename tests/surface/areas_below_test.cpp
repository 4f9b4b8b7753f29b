// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/areas_below.hpp"

#include <gtest/gtest.h>

#include "mapped_field.hpp"

namespace evendrip {
namespace {

TEST(AreasBelow, HoldTheAreaThatIsTrulyBelow) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  const auto areas = areas_below(field, map, 200, 1, {});
  ASSERT_EQ(areas.size(), 2U);  // one zone: no line for the field besides
  const double area_ha = field.zone_area_ha(0);
  // Below 0.75 beyond 52.5 m of 60 m, below 0.90 beyond 45 m.
  const double truth[] = {area_ha * 7.5 / 60, area_ha * 15 / 60};
  for (std::size_t i = 0; i < areas.size(); ++i) {
    EXPECT_EQ(areas[i].zone, 0);
    EXPECT_NEAR(areas[i].area_ha, area_ha, 1e-12);
    const double place_ha = area_ha / 400;  // areas are told in steps of a place
    EXPECT_LE(areas[i].lower_ha, areas[i].mean_ha + place_ha);
    EXPECT_GE(areas[i].upper_ha, areas[i].mean_ha - place_ha);
    EXPECT_LE(areas[i].upper_ha, area_ha);
    EXPECT_NEAR(areas[i].mean_ha, truth[i], 0.1 * area_ha);
  }
  EXPECT_LE(areas[0].mean_ha, areas[1].mean_ha);
}

TEST(AreasBelow, AreTheSameForTheSameSeedAndAnyNumberOfThreads) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  Work two;
  two.threads = 2;
  const auto one = areas_below(field, map, 50, 7, {});
  const auto other = areas_below(field, map, 50, 7, two);
  ASSERT_EQ(one.size(), other.size());
  for (std::size_t i = 0; i < one.size(); ++i) {
    EXPECT_EQ(one[i].mean_ha, other[i].mean_ha);
    EXPECT_EQ(one[i].upper_ha, other[i].upper_ha);
  }
}

TEST(AreasBelow, AreNoneWhereNothingWasFitted) {
  const Field field = test::field_of_laterals();
  EXPECT_TRUE(areas_below(field, test::map_of(field, Survey{}), 50, 1, {}).empty());
}

}  // namespace
}  // namespace evendrip
