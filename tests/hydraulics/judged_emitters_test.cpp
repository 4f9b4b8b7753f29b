// SPDX-License-Identifier: Apache-2.0
#include "../../src/hydraulics/judged_emitters.hpp"

#include <cmath>

#include <gtest/gtest.h>

#include "field_folder.hpp"
#include "hand_laid_zone.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::HandLaidZone;

/// Two zones by hand: Z1 with one lateral that expects 8 L/h at 100 kPa everywhere and has 90 kPa
/// as it is; Z2 not computed.
struct Judging {
  HandLaidZone laid;
  std::vector<ZoneWork> works = std::vector<ZoneWork>(2);

  Judging() {
    for (int i = 0; i < 2; ++i) works[static_cast<std::size_t>(i)].zone.zone = i;
    ExpectedZone& zone = works[0].zone;
    zone.computed = true;
    zone.network = laid.network;
    zone.mean_lph = 7.5;
    zone.gauges.inlet_kpa = {110, 2};
    zone.gauges.loss_factor = {1, 0.1};
    ExpectedLateral lateral;
    lateral.lateral = 0;
    lateral.station_m = {2.5, 7.5};
    lateral.pressure_kpa = {100, 100};
    lateral.discharge_lph = {8, 8};
    lateral.as_is_pressure_kpa = {90, 90};
    zone.laterals.push_back(lateral);
  }

  MeasuredEmitter& dig(double discharge_lph, double pit_kpa = -1, const std::string& pit = "") {
    CatchRecord record;
    if (pit_kpa >= 0) record.pressure_kpa = pit_kpa;
    laid.survey.records.push_back(record);
    MeasuredEmitter emitter;
    emitter.records = {laid.survey.records.size() - 1};
    emitter.site = {{5, 0}, 0, 5, 0};
    emitter.discharge_lph = discharge_lph;
    emitter.pit = pit;
    laid.survey.emitters.push_back(emitter);
    return laid.survey.emitters.back();
  }

  std::vector<JudgedHole> judge() const { return judge_emitters(laid.field, laid.survey, works); }
  MeterReading& meter(double flow_lph, std::vector<int> zones = {0}) {
    MeterReading reading;
    reading.zones = std::move(zones);
    reading.flow_lph = flow_lph;
    reading.accuracy_frac = 0.02;
    laid.survey.meter.push_back(reading);
    return laid.survey.meter.back();
  }
};

TEST(JudgedEmitters, HaveFullPerformanceWhereTheyAreStarved) {
  Judging judging;
  judging.dig(4, 25);  // 8 L/h at 100 kPa and x 0.5: 4 L/h at 25 kPa
  const JudgedEmitter one = judging.judge().at(0).emitter;
  EXPECT_DOUBLE_EQ(one.expected_lph, 8);
  EXPECT_DOUBLE_EQ(one.delivery, 0.5);
  EXPECT_TRUE(one.pressure_measured);
  EXPECT_NEAR(one.performance, 1, 1e-9);
  // 1 kPa of 25 at exponent 0.5.
  EXPECT_NEAR(one.performance_sd, 0.5 / 25, 1e-9);
}

TEST(JudgedEmitters, TakeThePressureAsItIsWhereNoneWasMeasured) {
  Judging judging;
  judging.dig(6);
  const JudgedEmitter one = judging.judge().at(0).emitter;
  EXPECT_DOUBLE_EQ(one.delivery, 0.75);
  EXPECT_DOUBLE_EQ(one.pressure_kpa, 90);
  EXPECT_FALSE(one.pressure_measured);
  EXPECT_NEAR(one.performance, 6 / (8 * std::sqrt(0.9)), 1e-9);
  // Inlet 2 kPa, and a tenth of the 20 kPa lost on the way.
  EXPECT_NEAR(one.performance_sd, one.performance * 0.5 * std::hypot(2, 2) / 90, 1e-9);
}

TEST(JudgedEmitters, WithoutALateralHaveTheMeanOfTheZoneButNoDelivery) {
  Judging judging;
  judging.dig(6).site.lateral = -1;
  judging.dig(4, 25).site.lateral = -1;
  const auto judged = judging.judge();
  EXPECT_DOUBLE_EQ(judged[0].emitter.expected_lph, 7.5);
  EXPECT_TRUE(std::isnan(judged[0].emitter.delivery));
  EXPECT_TRUE(std::isnan(judged[0].emitter.performance));
  EXPECT_TRUE(std::isnan(judged[1].emitter.delivery));
  EXPECT_NEAR(judged[1].emitter.performance, 1, 1e-9);
}

TEST(JudgedEmitters, ThatAreDamagedOrInAZoneNotComputedAreNotJudged) {
  Judging judging;
  judging.dig(6).state = EmitterState::dug_damage;
  judging.dig(6).site.zone = 1;
  judging.dig(6).site.zone = -1;
  judging.dig(0, 0);  // no pressure at all: nothing to perform on
  const auto judged = judging.judge();
  ASSERT_EQ(judged.size(), 4U);
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(judged[i].emitter.emitter, static_cast<int>(i));
    EXPECT_TRUE(std::isnan(judged[i].emitter.expected_lph));
    EXPECT_TRUE(std::isnan(judged[i].emitter.performance));
  }
  EXPECT_DOUBLE_EQ(judged[3].emitter.delivery, 0);
  EXPECT_TRUE(std::isnan(judged[3].emitter.performance));
}

TEST(JudgedEmitters, OnALateralWhoseGaugeIsSetAsideAreUnsure) {
  Judging judging;
  judging.dig(6);
  const double before = judging.judge().at(0).emitter.performance_sd;
  PortComparison port;
  port.port = HandLaidZone::first_end;  // at the end of the lateral
  port.measured_kpa = 40;
  port.modelled_kpa = 80;
  port.set_aside = true;
  PortComparison good;
  good.port = HandLaidZone::first_end + 1;
  judging.works[0].zone.gauges.ports = {port, good};
  EXPECT_GT(judging.judge().at(0).emitter.performance_sd, 10 * before);
  // Another lateral's gauge does not matter, unless the most are set aside.
  std::swap(judging.works[0].zone.gauges.ports[0].port, judging.works[0].zone.gauges.ports[1].port);
  EXPECT_DOUBLE_EQ(judging.judge().at(0).emitter.performance_sd, before);
  judging.works[0].zone.gauges.ports.pop_back();
  EXPECT_GT(judging.judge().at(0).emitter.performance_sd, 10 * before);
}

TEST(WitnessOfHoles, IsTheirMeanWithAStandardErrorThatNeverVanishes) {
  Judging judging;
  for (const double q : {8.0, 6.0}) judging.dig(q, 100);
  const auto witness = witness_of_holes(judging.laid.survey, judging.judge(), 0);
  ASSERT_TRUE(witness);
  EXPECT_NEAR(witness->factor.value, 0.875, 1e-12);
  // Squares of the two 2 x 0.125^2, prior ones 2 x 0.15^2, three degrees of freedom, two holes.
  EXPECT_NEAR(witness->factor.sd, std::sqrt((2 * 0.125 * 0.125 + 2 * 0.15 * 0.15) / 3 / 2), 1e-12);
  EXPECT_FALSE(witness_of_holes(judging.laid.survey, judging.judge(), 1));
}

TEST(WitnessOfHoles, CountsAPitAsOneHole) {
  Judging judging;
  for (int i = 0; i < 3; ++i) judging.dig(4, 100, "P1");
  judging.dig(8, 100, "P2");
  EXPECT_NEAR(witness_of_holes(judging.laid.survey, judging.judge(), 0)->factor.value, 0.75, 1e-12);
}

TEST(WitnessOfHoles, LeavesOutHolesWhosePressureIsNotKnownWell) {
  Judging judging;
  judging.works[0].zone.gauges.inlet_kpa.sd = 50;
  judging.dig(0);
  EXPECT_FALSE(witness_of_holes(judging.laid.survey, judging.judge(), 0));
  judging.dig(8, 100);
  EXPECT_NEAR(witness_of_holes(judging.laid.survey, judging.judge(), 0)->factor.value, 1, 1e-12);
}

TEST(WitnessOfMeter, IsTheFlowOverWhatTheEmittersGiveInTheSoil) {
  Judging judging;
  // Two emitters at 90 kPa give 2 x 8 sqrt(0.9) free; in the soil 0.704 of it (above 4 L/h).
  judging.meter(0.8 * 0.704 * 2 * 8 * std::sqrt(0.9));
  const auto witness = witness_of_meter(judging.laid.field, judging.laid.survey, judging.works, 0);
  ASSERT_TRUE(witness);
  EXPECT_NEAR(witness->factor.value, 0.8, 1e-12);
  const double soil = 0.12 / 0.704;
  EXPECT_NEAR(witness->factor.sd, 0.8 * std::hypot(std::hypot(0.02, soil), 0.5 * 2 / 110), 1e-9);
}

TEST(WitnessOfMeter, NeedsAllZonesOfTheReading) {
  Judging judging;
  judging.meter(10, {0, 1});
  EXPECT_FALSE(witness_of_meter(judging.laid.field, judging.laid.survey, judging.works, 0));
}

TEST(WitnessOfMeter, OfZonesRunTogetherIsLessSure) {
  Judging judging;
  judging.works[1] = judging.works[0];
  judging.works[1].zone.zone = 1;
  const double alone = 0.704 * 2 * 8 * std::sqrt(0.9);
  judging.meter(alone, {0});
  const auto one = witness_of_meter(judging.laid.field, judging.laid.survey, judging.works, 0);
  judging.laid.survey.meter.clear();
  judging.meter(2 * alone, {0, 1});
  const auto both = witness_of_meter(judging.laid.field, judging.laid.survey, judging.works, 0);
  EXPECT_NEAR(both->factor.value, 1, 1e-12);
  EXPECT_GT(both->factor.sd, one->factor.sd);
}

TEST(WearWitnesses, LeaveOutAMeterThatContradictsTheHoles) {
  Judging judging;
  for (int i = 0; i < 40; ++i) judging.dig(8, 100);
  judging.meter(0.704 * 2 * 8 * std::sqrt(0.9));
  Doubts doubts;
  EXPECT_EQ(wear_witnesses(judging.laid.field, judging.laid.survey, judging.judge(), judging.works,
                           0, doubts)
                .size(),
            2U);
  EXPECT_TRUE(doubts.empty());
  judging.laid.survey.meter[0].flow_lph *= 0.3;
  EXPECT_EQ(wear_witnesses(judging.laid.field, judging.laid.survey, judging.judge(), judging.works,
                           0, doubts)
                .size(),
            1U);
  EXPECT_EQ(count(doubts, "meter_and_holes_disagree"), 1);
}

}  // namespace
}  // namespace evendrip
