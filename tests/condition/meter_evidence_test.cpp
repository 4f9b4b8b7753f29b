// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/meter_evidence.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "../hydraulics/small_zone.hpp"

namespace evendrip {
namespace {

struct Metered {
  Field field = invented_zone::field_of({10, 100, 1.5, 0.5, 0.25, LateralEnds::closed});
  Survey survey;
  Expectation expectation;

  Metered() {
    PressureReading inlet;
    inlet.port = 0;
    inlet.pressure_kpa = 100;
    inlet.gauge_accuracy_kpa = 1;
    survey.pressures = {inlet};
    expectation = expect(field, survey, {}, {});
  }
  MeterReading& read(double share) {
    MeterReading meter;
    meter.zones = {0};
    meter.flow_lph = share * 0.905 * expectation.zones[0].total_lph;
    survey.meter.push_back(meter);
    return survey.meter.back();
  }
  std::optional<MeterDatum> datum() const {
    return meter_datum(field, survey, expectation.zones[0]);
  }
};

// Warrick & Shani 1996 (in hydraulics/meter.hpp): 0.905 in the soil at 1 L/h, here with 0.05; meter
// 3 %, inlet pressure 1 % at an exponent of 0.5.
TEST(MeterDatum, ByTheRatingHoldsTheErrorsOfMeterSoilAndPressure) {
  Metered zone;
  zone.read(0.9);
  const auto datum = zone.datum();
  ASSERT_TRUE(datum);
  EXPECT_NEAR(datum->value, 0.9, 1e-9);
  EXPECT_FALSE(datum->by_record);
  const double of_soil = 0.05 / 0.905;
  EXPECT_NEAR(std::sqrt(datum->noise_variance) / 0.9,
              std::sqrt(0.03 * 0.03 + of_soil * of_soil + 0.005 * 0.005), 2e-4);
}

TEST(MeterDatum, ByACommissioningRecordLosesTheInSoilRatio) {
  Metered zone;
  zone.field.zones[0].emitter.rated_tolerance_frac = 0.01;
  zone.expectation = expect(zone.field, zone.survey, {}, {});
  MeterReading& meter = zone.read(0.9);
  meter.reference_flow_lph = meter.flow_lph / 0.8;
  meter.reference_pressure_kpa = zone.expectation.zones[0].gauges.inlet_kpa.value;
  const auto datum = zone.datum();
  ASSERT_TRUE(datum);
  EXPECT_TRUE(datum->by_record);
  EXPECT_NEAR(datum->value, 0.8, 1e-9);
  // Two readings of 3 %, pressures of 1 % and 2 % at an exponent of 0.5, tolerance of 1 %.
  EXPECT_NEAR(std::sqrt(datum->noise_variance) / 0.8,
              std::sqrt(2 * 0.03 * 0.03 + 0.25 * (0.01 * 0.01 + 0.02 * 0.02) + 0.01 * 0.01), 2e-4);
}

TEST(MeterDatum, IsNoneForZonesReadTogetherOrNotComputed) {
  Metered zone;
  EXPECT_FALSE(zone.datum());
  zone.read(1).zones = {0, 0};
  EXPECT_FALSE(zone.datum());
  zone.read(1);
  ExpectedZone unknown;
  unknown.zone = 0;
  EXPECT_FALSE(meter_datum(zone.field, zone.survey, unknown));
}

/// Two zones alike, read together.
struct MeteredTogether {
  Field field;
  Survey survey;
  Expectation expectation;

  explicit MeteredTogether(double share) {
    const Metered one;
    field = one.field;
    field.zones.push_back(field.zones[0]);
    expectation.zones.resize(2);
    for (int z = 0; z < 2; ++z) {
      ExpectedZone& zone = expectation.zones[static_cast<std::size_t>(z)];
      zone.zone = z;
      zone.computed = true;
      zone.gauges = one.expectation.zones[0].gauges;
      zone.rated_tolerance_frac = one.expectation.zones[0].rated_tolerance_frac;
      zone.total_lph = one.expectation.zones[0].total_lph * (z == 0 ? 1 : 3);
    }
    MeterReading meter;
    meter.zones = {0, 1};
    meter.flow_lph = share * 0.905 * 4 * expectation.zones[0].total_lph;
    survey.meter = {meter};
  }
};

TEST(MeterSum, IsADatumOnTheSumOfItsZones) {
  const MeteredTogether both(0.9);
  const auto sums = meter_sums(both.field, both.survey, both.expectation);
  ASSERT_EQ(sums.size(), 1U);
  EXPECT_EQ(sums[0].zones, (std::vector<int>{0, 1}));
  EXPECT_NEAR(sums[0].shares[0], 0.25, 1e-12);
  EXPECT_NEAR(sums[0].shares[1], 0.75, 1e-12);
  EXPECT_NEAR(sums[0].datum.value, 0.9, 1e-9);
  const double of_soil = 0.05 / 0.905;
  EXPECT_NEAR(std::sqrt(sums[0].datum.noise_variance) / 0.9, std::hypot(0.03, of_soil), 2e-3);
}

TEST(MeterSum, LeavesAZoneWhatTheOthersDoNotTake) {
  const MeteredTogether both(0.9);
  const auto sums = meter_sums(both.field, both.survey, both.expectation);
  const std::vector<Estimate> known{{1, 0.2}, {1, 0.02}};
  // 0.9 of all less 0.75 of the larger zone leaves 0.15 of the 0.25 of the smaller one.
  const auto small = shared_meter_datum(sums, 0, known);
  ASSERT_TRUE(small);
  EXPECT_NEAR(small->value, 0.6, 1e-9);
  EXPECT_GT(small->noise_variance, sums[0].datum.noise_variance / (0.25 * 0.25));
  const auto large = shared_meter_datum(sums, 1, known);
  ASSERT_TRUE(large);
  EXPECT_NEAR(large->value, (0.9 - 0.25) / 0.75, 1e-9);
  EXPECT_LT(large->noise_variance, small->noise_variance);
  EXPECT_FALSE(shared_meter_datum({}, 0, known));
}

TEST(MeterSum, PassesOverReadingsOfOneZoneAndOfZonesThatAreNotComputed) {
  MeteredTogether both(0.9);
  both.expectation.zones[1].computed = false;
  EXPECT_TRUE(meter_sums(both.field, both.survey, both.expectation).empty());
  MeteredTogether alone(0.9);
  alone.survey.meter[0].zones = {1};
  EXPECT_TRUE(meter_sums(alone.field, alone.survey, alone.expectation).empty());
}

// The density integrates to 1, and is the integral over leaks of the Gaussian.
TEST(MeterDatum, AllowsForLeaksOfAnExponentialSize) {
  MeterDatum datum;
  datum.noise_variance = 0.03 * 0.03;
  const auto by_sum = [&](double value, double mean, double sd) {
    constexpr double leak = 0.02;
    constexpr double step = 1e-4;
    double sum = 0;
    for (double l = 0.5 * step; l < 0.6; l += step) {
      const double z = (value - mean - l) / sd;
      sum += step / leak * std::exp(-l / leak) * std::exp(-0.5 * z * z) /
             (sd * std::sqrt(2 * std::numbers::pi));
    }
    return std::log(sum);
  };
  for (const double value : {0.8, 0.97, 1.05, 1.2}) {
    datum.value = value;
    EXPECT_NEAR(datum.log_likelihood(0.95, 0.04), by_sum(value, 0.95, 0.05), 1e-4) << value;
  }
}

TEST(MeterDatum, HoldsTooMuchWaterMoreLikelyThanTooLittle) {
  MeterDatum datum;
  datum.noise_variance = 0.03 * 0.03;
  datum.value = 1.12;
  const double more = datum.log_likelihood(1, 0);
  datum.value = 0.88;
  EXPECT_GT(more, datum.log_likelihood(1, 0) + 1);
}

TEST(MeterDatum, StaysFiniteFarOut) {
  MeterDatum datum;
  datum.noise_variance = 0.03 * 0.03;
  datum.value = 0;
  const double at_nothing = datum.log_likelihood(1, 0);
  EXPECT_TRUE(std::isfinite(at_nothing));
  EXPECT_LT(at_nothing, -500);
  // log erfc is smooth where its far form begins.
  double before = at_nothing;
  for (double value = 0.01; value < 0.9; value += 0.01) {
    datum.value = value;
    EXPECT_GT(datum.log_likelihood(1, 0), before);
    before = datum.log_likelihood(1, 0);
  }
}

TEST(MeterWords, SayWhetherTheEstimateAgrees) {
  MeterDatum datum;
  datum.value = 0.9;
  datum.noise_variance = 0.06 * 0.06;
  EXPECT_NE(meter_against(datum, 0.93, 0.03).find("they agree"), std::string::npos);
  EXPECT_NE(meter_against(datum, 0.65, 0.03).find("a leak"), std::string::npos);
  EXPECT_NE(meter_against(datum, 1.1, 0.03).find("nothing was dug"), std::string::npos);
  EXPECT_NE(meter_against(datum, 0.93, 0.03).find("90 %"), std::string::npos);
}

}  // namespace
}  // namespace evendrip
