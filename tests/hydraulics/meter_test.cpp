// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/meter.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "field_folder.hpp"
#include "hand_laid_zone.hpp"

namespace evendrip {
namespace {

using testing::entry;
using testing::HandLaidZone;

/// Two zones of 1 L/h emitters that should give 1000 and 500 L/h, at 100 and 80 kPa.
struct Metered {
  Field field = HandLaidZone().field;
  Survey survey;
  Expectation expectation;

  Metered() {
    survey.id = "spring";
    field.surveys[0].meter = FileRef{"meter.csv", "", "meter.csv"};
    for (int i = 0; i < 2; ++i) {
      field.zones[static_cast<std::size_t>(i)].emitter.discharge_lph = 1;
      ExpectedZone zone;
      zone.zone = i;
      zone.computed = true;
      zone.total_lph = i == 0 ? 1000 : 500;
      zone.rated_tolerance_frac = 0.07;
      zone.gauges.inlet_kpa = {i == 0 ? 100. : 80., 2};
      expectation.zones.push_back(std::move(zone));
    }
  }

  MeterReading& read(double flow_lph, std::vector<int> zones) {
    MeterReading reading;
    reading.row = survey.meter.size() + 2;
    reading.flow_lph = flow_lph;
    reading.zones = std::move(zones);
    reading.accuracy_frac = 0.02;
    survey.meter.push_back(reading);
    return survey.meter.back();
  }
  MeterComparison compare() const {
    Doubts doubts;
    return compare_meter(field, survey, expectation, doubts).at(0);
  }
};

TEST(Meter, IsComparedWithTheSumOfTheZonesThatRan) {
  Metered metered;
  metered.read(1221.75, {0, 1});
  const MeterComparison compared = metered.compare();
  EXPECT_EQ(compared.zones, (std::vector<int>{0, 1}));
  EXPECT_DOUBLE_EQ(compared.expected_free_lph.value, 1500);
  EXPECT_NEAR(compared.expected_in_soil_lph.value, 0.905 * 1500, 1e-9);
  EXPECT_NEAR(compared.ratio, 0.9, 1e-12);
  EXPECT_DOUBLE_EQ(compared.measured_sd_lph, 0.02 * 1221.75);
  EXPECT_FALSE(compared.against_commissioning);
}

TEST(Meter, CarriesTheErrorsOfPressureSoilAndRating) {
  Metered metered;
  metered.read(905, {0});
  const MeterComparison compared = metered.compare();
  EXPECT_NEAR(compared.expected_free_lph.sd, 1000 * 0.5 * 2 / 100, 1e-9);
  const double soil = 0.05 * 1000;
  const double rated = 0.07 * 905;
  const double pressure = 0.01 * 905;
  const double expected_sd = std::sqrt(soil * soil + rated * rated + pressure * pressure);
  EXPECT_NEAR(compared.expected_in_soil_lph.sd, expected_sd, 1e-9);
  EXPECT_NEAR(compared.ratio_sd, std::hypot(0.02, expected_sd / 905), 1e-12);
}

TEST(Meter, AgainstCommissioningNeedsNeitherSoilNorRating) {
  Metered metered;
  MeterReading& reading = metered.read(880, {0});
  reading.reference_flow_lph = 1000;
  reading.reference_pressure_kpa = 100 / 0.92;
  const auto compared = metered.compare().against_commissioning;
  ASSERT_TRUE(compared);
  EXPECT_NEAR(compared->value, 0.88 / std::sqrt(0.92), 1e-12);
  EXPECT_LT(compared->sd, 0.04);
  EXPECT_GT(compared->sd, compared->value * 0.02 * std::sqrt(2.0));
}

TEST(Meter, DoesNotCorrectForPressureWhereEmittersCompensate) {
  Metered metered;
  metered.field.zones[0].emitter.pressure_compensating_kpa = {70., 300.};
  MeterReading& reading = metered.read(880, {0});
  reading.reference_flow_lph = 1000;
  reading.reference_pressure_kpa = 150;
  EXPECT_NEAR(metered.compare().against_commissioning->value, 0.88, 1e-12);
}

TEST(Meter, OfAZoneThatIsNotComputedIsToldAndLeftOut) {
  Metered metered;
  metered.expectation.zones[1].computed = false;
  metered.expectation.zones[1].why_not = "needs [layers] manifolds";
  metered.read(905, {0});
  metered.read(1300, {0, 1});
  Doubts doubts;
  EXPECT_EQ(compare_meter(metered.field, metered.survey, metered.expectation, doubts).size(), 1U);
  const Doubt doubt = entry(doubts, "meter_not_compared");
  EXPECT_EQ(doubt.place.file, "meter.csv");
  EXPECT_EQ(doubt.place.row, 3U);
  EXPECT_EQ(doubt.found, "zone Z2 is not computed: needs [layers] manifolds");
}

TEST(InSoilRatio, IsHeldOutsideWhatWasTestedAndFallsBetween) {
  EXPECT_DOUBLE_EQ(in_soil_ratio(0.5).value, in_soil_ratio(1).value);
  EXPECT_DOUBLE_EQ(in_soil_ratio(8).value, in_soil_ratio(4).value);
  // Half way in the logarithm.
  EXPECT_NEAR(in_soil_ratio(std::sqrt(2.0)).value, (0.905 + 0.825) / 2, 1e-12);
  EXPECT_DOUBLE_EQ(in_soil_ratio(1).sd, 0.05);
  EXPECT_NEAR(in_soil_ratio(2).sd, 0.085, 1e-12);
  EXPECT_DOUBLE_EQ(in_soil_ratio(4).sd, 0.12);
}

}  // namespace
}  // namespace evendrip
