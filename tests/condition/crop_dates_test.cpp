// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/crop_dates.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

constexpr auto irrigation = CropWater::irrigation;

TEST(WhyNotIrrigated, TakesTheWordOfTheFieldFolder) {
  const Zone zone;
  EXPECT_EQ(why_not_irrigated(zone, irrigation, "2025-08-02", {}), "");
  EXPECT_NE(why_not_irrigated(zone, CropWater::before_irrigation, "", {}), "");
  EXPECT_NE(why_not_irrigated(zone, CropWater::soaking_rain, "2025-08-02", {}), "");
}

TEST(WhyNotIrrigated, KnowsThatNoLateralWatersBeforeItIsLaid) {
  Zone zone;
  zone.lateral.installed_year = 2014;
  EXPECT_EQ(why_not_irrigated(zone, irrigation, "2013-09-30", {}),
            "it is of 2013-09-30, before the laterals were laid in 2014");
  EXPECT_EQ(why_not_irrigated(zone, irrigation, "2014-09-30", {}), "");
  EXPECT_EQ(why_not_irrigated(zone, irrigation, "", {}), "");
}

TEST(WhyNotIrrigated, LooksForTheBeginningInTheSameSeasonAlone) {
  const Zone zone;
  const IrrigationTimes north{"2026-06-10", false};
  EXPECT_EQ(why_not_irrigated(zone, irrigation, "2026-05-20", north),
            "it is of 2026-05-20, before irrigation began on 2026-06-10");
  EXPECT_EQ(why_not_irrigated(zone, irrigation, "2026-06-10", north), "");
  EXPECT_EQ(why_not_irrigated(zone, irrigation, "2025-09-30", north), "");  // last year's harvest
  const IrrigationTimes south{"2026-01-10", true};
  EXPECT_NE(why_not_irrigated(zone, irrigation, "2025-11-30", south), "");
  EXPECT_EQ(why_not_irrigated(zone, irrigation, "2025-05-30", south), "");
}

TEST(WhyNotIrrigated, FindsALayerOfTheFieldByItsId) {
  Field field;
  field.zones.resize(1);
  field.crops.resize(2);
  field.crops[0].id = "early";
  field.crops[0].water = CropWater::before_irrigation;
  field.crops[1].id = "late";
  EXPECT_NE(why_not_irrigated(field, 0, "early", "2026-05-02", {}), "");
  EXPECT_EQ(why_not_irrigated(field, 0, "late", "2026-08-02", {}), "");
  EXPECT_EQ(why_not_irrigated(field, 0, "no such", "2026-08-02", {}), "");
}

}  // namespace
}  // namespace evendrip
