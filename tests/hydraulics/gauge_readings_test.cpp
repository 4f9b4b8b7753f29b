// SPDX-License-Identifier: Apache-2.0
#include "../../src/hydraulics/gauge_readings.hpp"

#include <gtest/gtest.h>

#include "field_folder.hpp"
#include "hand_laid_zone.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::HandLaidZone;

std::vector<LineReading> readings_of(const HandLaidZone& zone) {
  Doubts doubts;
  return line_readings(zone.field, zone.survey, zone.network, doubts);
}

Doubts doubts_of(const HandLaidZone& zone) {
  Doubts doubts;
  line_readings(zone.field, zone.survey, zone.network, doubts);
  return doubts;
}

TEST(LineReadings, AreBroughtToTheHeightOfTheLine) {
  HandLaidZone zone;
  zone.field.ports[HandLaidZone::first_end].gauge_height_m = 0.85;
  zone.read(HandLaidZone::first_end, 90);
  // 0.85 m of water at 9.80665 kPa a metre (ISO 80000-4 conventional water column).
  EXPECT_NEAR(readings_of(zone).at(0).kpa, 90 + 8.3357, 1e-4);
}

TEST(LineReadings, LeaveOutWhatWasReadWhileFlushing) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 110, 1, "", "irrigating");
  zone.read(HandLaidZone::first_end, 40, 1, "", "flushing");
  ASSERT_EQ(readings_of(zone).size(), 1U);
  EXPECT_EQ(readings_of(zone)[0].port, HandLaidZone::inlet);
}

TEST(LineReadings, LeaveOutWhatWasReadWithOtherZonesOpen) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 110, 1, "Z1");
  zone.read(HandLaidZone::first_end, 40, 1, "Z2");
  ASSERT_EQ(readings_of(zone).size(), 1U);
  EXPECT_DOUBLE_EQ(readings_of(zone)[0].kpa, 110);
  const Doubt doubt = entry(doubts_of(zone), "other_zones_open");
  EXPECT_EQ(doubt.place.file, "pressures.csv");
  EXPECT_EQ(doubt.place.row, 3U);
}

TEST(LineReadings, AreOfOneSetOfOpenZonesThatWithTheMost) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 110, 1, "Z1");
  zone.read(HandLaidZone::inlet, 100, 1, "Z1;Z2");
  zone.read(HandLaidZone::first_end, 80, 1, "Z2 Z1");
  zone.read(HandLaidZone::first_end + 1, 81);
  const auto readings = readings_of(zone);
  ASSERT_EQ(readings.size(), 3U);
  EXPECT_DOUBLE_EQ(readings[0].kpa, 100);
  EXPECT_DOUBLE_EQ(readings[2].kpa, 81);
}

TEST(LineReadings, OfOnePortAreOneWithTheErrorOfTheGauge) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 108, 2).read(HandLaidZone::inlet, 112, 2);
  const auto readings = readings_of(zone);
  ASSERT_EQ(readings.size(), 1U);
  EXPECT_DOUBLE_EQ(readings[0].kpa, 110);
  EXPECT_DOUBLE_EQ(readings[0].gauge_sd_kpa, 2);
}

TEST(LineReadings, BehindTheValveStandForTheInletWithMoreError) {
  HandLaidZone zone;
  zone.read(HandLaidZone::valve, 112, 1.5);
  const auto readings = readings_of(zone);
  ASSERT_EQ(readings.size(), 1U);
  EXPECT_TRUE(readings[0].at_inlet);
  EXPECT_EQ(readings[0].node, zone.network.inlet_node);
  EXPECT_DOUBLE_EQ(readings[0].gauge_sd_kpa, 2.5);  // 1.5 and 2 in quadrature
  zone.field.ports[HandLaidZone::valve].zones = {1};
  EXPECT_TRUE(readings_of(zone).empty());
}

TEST(LineReadings, TakeTwoPercentAndAtLeastOneKilopascalWhereNoAccuracyIsStated) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 110, 0).read(HandLaidZone::first_end, 20, 0);
  EXPECT_DOUBLE_EQ(readings_of(zone).at(0).sd_kpa, 2.2);
  EXPECT_DOUBLE_EQ(readings_of(zone).at(1).sd_kpa, 1);
}

TEST(LineReadings, AwayFromTheInletBearTheErrorOfTheHeights) {
  HandLaidZone zone;
  zone.network.elevation_sd_m = 0.2;
  zone.read(HandLaidZone::inlet, 110, 1).read(HandLaidZone::first_end, 90, 1);
  const auto readings = readings_of(zone);
  EXPECT_DOUBLE_EQ(readings.at(0).sd_kpa, 1);
  EXPECT_NEAR(readings.at(1).sd_kpa, std::hypot(1, 0.2 * 9.80665), 1e-12);
  EXPECT_DOUBLE_EQ(readings.at(1).gauge_sd_kpa, 1);
}

TEST(LineReadings, OfACoarseGaugeAreDoubted) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 110, 5.4).read(HandLaidZone::first_end, 110, 5.6);
  const Doubts doubts = doubts_of(zone);
  EXPECT_EQ(count(doubts, "gauge_too_coarse"), 1);
  EXPECT_EQ(entry(doubts, "gauge_too_coarse").place.row, 3U);
}

TEST(LineReadings, BelowAtmosphericPressureAreDoubted) {
  HandLaidZone zone;
  zone.read(HandLaidZone::first_end, -4, 1);
  const Doubt doubt = entry(doubts_of(zone), "negative_end_pressure");
  EXPECT_EQ(doubt.place.row, 2U);
  EXPECT_EQ(doubt.place.column, "pressure_kpa");
}

}  // namespace
}  // namespace evendrip
