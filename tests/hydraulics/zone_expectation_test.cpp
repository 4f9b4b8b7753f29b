// SPDX-License-Identifier: Apache-2.0
#include "../../src/hydraulics/zone_expectation.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "field_folder.hpp"
#include "hand_laid_zone.hpp"

namespace evendrip {
namespace {

using testing::entry;
using testing::HandLaidZone;

/// As build_zone leaves it.
ZoneWork built(const HandLaidZone& zone) {
  ZoneWork work;
  work.zone.zone = 0;
  work.zone.computed = true;
  work.zone.network = zone.network;
  for (const NetworkLateral& lateral : zone.network.laterals) {
    ExpectedLateral places;
    places.lateral = lateral.lateral;
    places.station_m.assign(lateral.stations_m.begin() + 1, lateral.stations_m.end() - 1);
    places.elevation_m.assign(places.station_m.size(), 0);
    work.zone.laterals.push_back(places);
  }
  return work;
}

ZoneWork finished(const HandLaidZone& zone) {
  ZoneWork work = built(zone);
  meet_zone(zone.field, zone.survey, {}, work);
  finish_zone(zone.field, work);
  return work;
}

TEST(ZoneExpectation, SumsTheEmittersOfTheCleanSystem) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 110, 1e-3);
  const ZoneWork work = finished(zone);
  ASSERT_TRUE(work.zone.computed) << work.zone.why_not;
  double total = 0;
  double smallest = 1e9;
  for (const ExpectedLateral& lateral : work.zone.laterals) {
    ASSERT_EQ(lateral.discharge_lph.size(), 30U);
    for (std::size_t i = 0; i < 30; ++i) {
      // q = k h^x of the rated pair, 8 L/h at 100 kPa.
      EXPECT_NEAR(lateral.discharge_lph[i], 8 * std::sqrt(lateral.pressure_kpa[i] / 100), 1e-6);
      total += lateral.discharge_lph[i];
      smallest = std::min(smallest, lateral.discharge_lph[i]);
    }
  }
  EXPECT_NEAR(work.zone.total_lph, total, 1e-9);
  // The pipes carry what the emitters of 8 L/h give in the soil.
  EXPECT_NEAR(0.704 * work.zone.total_lph, work.zone.state.inflow_m3_s * 3.6e6, 1e-5);
  EXPECT_NEAR(work.zone.mean_lph, total / 90, 1e-12);
  EXPECT_DOUBLE_EQ(work.zone.smallest_lph, smallest);
}

TEST(ZoneExpectation, HasTheRelativeErrorOfPressureTimesTheExponent) {
  HandLaidZone zone;
  zone.network.elevation_sd_m = 0.1;
  const ZoneWork work = finished(zone);
  double mean_kpa = 0;
  for (const ExpectedLateral& lateral : work.zone.laterals) {
    for (const double kpa : lateral.pressure_kpa) mean_kpa += kpa / 90;
  }
  const double sd_kpa = std::hypot(0.15 * 110, 0.1 * 9.80665);
  EXPECT_NEAR(work.zone.relative_sd, 0.5 * sd_kpa / mean_kpa, 1e-9);
}

TEST(ZoneExpectation, KeepsTheSystemAsItIsApartFromTheCleanOne) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 110, 1);
  ZoneWork work = built(zone);
  meet_zone(zone.field, zone.survey, {{"holes", {0.6, 0.01}}}, work);
  finish_zone(zone.field, work);
  const ExpectedLateral& lateral = work.zone.laterals.back();
  // Worn to 0.6, the emitters draw less and lose less on the way.
  EXPECT_GT(lateral.as_is_pressure_kpa.back(), lateral.pressure_kpa.back() + 5);
  EXPECT_NEAR(work.as_is.discharge_lph.back(),
              work.zone.gauges.wear_factor.value * work.zone.gauges.soil_factor.value * 8 *
                  std::sqrt(lateral.as_is_pressure_kpa.back() / 100),
              1e-6);
}

TEST(ZoneExpectation, TellsEmittersThatGetNoPressureWithTheirPlace) {
  HandLaidZone zone;
  const NetworkLateral& last = zone.network.laterals.back();
  for (std::size_t i = 20; i < last.nodes.size(); ++i) {
    zone.network.network.elevation_m[static_cast<std::size_t>(last.nodes[i])] = 12;
  }
  const ZoneWork work = finished(zone);
  ASSERT_TRUE(work.zone.computed) << work.zone.why_not;
  const Doubt doubt = entry(work.of_result, "negative_end_pressure");
  EXPECT_NE(doubt.place.layer.find("lateral L3"), std::string::npos) << doubt.place.layer;
  EXPECT_NE(doubt.text.find("11 emitters of zone Z1"), std::string::npos) << doubt.text;
  EXPECT_DOUBLE_EQ(work.zone.smallest_lph, 0);
}

TEST(ZoneExpectation, SaysWhyAZoneCannotBeSolved) {
  HandLaidZone zone;
  ZoneWork work = built(zone);
  work.zone.network->network.pipes[0].length_m = -1;
  meet_zone(zone.field, zone.survey, {}, work);
  EXPECT_FALSE(work.zone.computed);
  EXPECT_FALSE(work.zone.why_not.empty());
}

TEST(AlongLateral, IsStraightBetweenEmittersAndHeldBeyondThem) {
  ExpectedLateral lateral;
  lateral.station_m = {1, 2, 4};
  const std::vector<double> values = {10, 20, 40};
  EXPECT_DOUBLE_EQ(along_lateral(lateral, values, 0), 10);
  EXPECT_DOUBLE_EQ(along_lateral(lateral, values, 1.5), 15);
  EXPECT_DOUBLE_EQ(along_lateral(lateral, values, 2), 20);
  EXPECT_DOUBLE_EQ(along_lateral(lateral, values, 3), 30);
  EXPECT_DOUBLE_EQ(along_lateral(lateral, values, 9), 40);
}

TEST(LocalExponent, IsThatOfTheEmitterAndNoneWithinACompensatingRange) {
  EmitterCurve curve{2, 100, 0.45, 0, 0};
  EXPECT_NEAR(local_exponent(curve, 60), 0.45, 1e-9);
  EXPECT_DOUBLE_EQ(local_exponent(curve, -3), 0);
  curve.compensating_from_kpa = 70;
  curve.compensating_to_kpa = 300;
  EXPECT_DOUBLE_EQ(local_exponent(curve, 150), 0);
  EXPECT_NEAR(local_exponent(curve, 40), 0.45, 1e-9);
}

}  // namespace
}  // namespace evendrip
