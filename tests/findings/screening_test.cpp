// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/screening.hpp"

#include "evendrip/findings/zone_changes.hpp"
#include "screened_zone.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numeric>

namespace evendrip {
namespace {

using namespace invented_zone;
using ::testing::HasSubstr;
using ::testing::StartsWith;

Field small_field() {
  return gauged_field(LateralEnds::closed, 6);
}

Commissioning record_when_good(const Field& field) {
  return record_of(field, readings(field, {}, {0.5, 0.01}, std::nullopt));
}

/// Nothing of the field is computed, as where the pipes are not known.
Expectation not_computed(const Field& field) {
  Expectation expectation;
  expectation.zones.resize(field.zones.size());
  return expectation;
}

ScreenedZone only(const Screening& screening) {
  return screening.zones.at(0);
}

MeterReading metered(double flow_lph, int zone = 0, double accuracy_frac = 0.02) {
  MeterReading reading;
  reading.meter = "M1";
  reading.zones = {zone};
  reading.flow_lph = flow_lph;
  reading.accuracy_frac = accuracy_frac;
  return reading;
}

TEST(Screening, NothingChangedIsSound) {
  const Field field = small_field();
  const Survey survey = readings(field, {}, {}, std::nullopt);
  const ScreenedZone zone = only(screened(field, survey, record_when_good(field)));
  EXPECT_FALSE(zone.not_told);
  EXPECT_EQ(zone.beliefs.front().state, ScreenedState::sound);
  EXPECT_THAT(zone.verdict, StartsWith("Sound"));
}

TEST(Screening, WithoutARecordASoundZoneIsNotTold) {
  const Field field = small_field();
  const ScreenedZone zone =
      only(screened(field, readings(field, {}, {}, std::nullopt), std::nullopt));
  EXPECT_TRUE(zone.not_told);
  EXPECT_EQ(zone.beliefs.front().state, ScreenedState::sound);
  EXPECT_THAT(zone.verdict, HasSubstr("Not told from its rating"));
  EXPECT_THAT(zone.verdict, HasSubstr("would not show"));
  EXPECT_THAT(zone.check_first, StartsWith("Nothing urgent"));
}

TEST(Screening, AFlowWithinTheRatedToleranceIsNotTold) {
  const Field field = small_field();
  Truth truth;
  truth.emitter_factor = 0.93;
  const ScreenedZone zone =
      only(screened(field, readings(field, truth, {}, std::nullopt), std::nullopt));
  EXPECT_TRUE(zone.not_told);
  EXPECT_THAT(zone.verdict, HasSubstr("rated tolerance (7 %)"));
  EXPECT_THAT(zone.check_first, HasSubstr("commissioning record"));
}

TEST(Screening, TheSameFlowIsToldWithARecord) {
  const Field field = small_field();
  Truth truth;
  truth.emitter_factor = 0.85;
  const ScreenedZone zone =
      only(screened(field, readings(field, truth, {}, std::nullopt), record_when_good(field)));
  EXPECT_FALSE(zone.not_told);
  EXPECT_EQ(zone.beliefs.front().state, ScreenedState::clogging);
}

TEST(Screening, CoarseInstrumentsTellNothing) {
  const Field field = small_field();
  Truth truth;
  truth.emitter_factor = 0.9;
  const Instruments coarse{15, 0.15};
  const ScreenedZone zone =
      only(screened(field, readings(field, truth, coarse, std::nullopt), record_when_good(field)));
  EXPECT_TRUE(zone.not_told);
  EXPECT_THAT(zone.verdict, HasSubstr("error of measuring"));
}

TEST(Screening, OneMeterReadingAloneIsEnough) {
  const Field field = small_field();
  Survey survey;
  survey.meter = {metered(6 * 300 * 0.4)};  // 300 emitters of 1 L/h on each line
  const ScreenedZone zone =
      only(screen_zones(field, survey, not_computed(field), {}, std::nullopt));
  ASSERT_EQ(zone.changes.size(), 1U);
  EXPECT_FALSE(zone.not_told);
  EXPECT_GT(1 - zone.beliefs.back().probability, 0.9);
  EXPECT_NE(zone.beliefs.front().state, ScreenedState::sound);
  EXPECT_NE(zone.verdict.find("clogging"), std::string::npos);
}

TEST(Screening, OnePortReadingAloneIsEnough) {
  const Field field = small_field();
  Survey survey;
  PressureReading reading;
  reading.port = port_of(field, "inlet");
  reading.pressure_kpa = 55;
  survey.pressures = {reading};
  const ScreenedZone zone =
      only(screen_zones(field, survey, not_computed(field), {}, std::nullopt));
  ASSERT_EQ(zone.changes.size(), 1U);
  EXPECT_FALSE(zone.not_told);
  EXPECT_EQ(zone.beliefs.front().state, ScreenedState::supply_fault);
}

TEST(Screening, AZoneWithoutAReadingIsNotToldAndNoted) {
  const Field field = small_field();
  const Screening screening = screen_zones(field, {}, not_computed(field), {}, std::nullopt);
  EXPECT_TRUE(only(screening).not_told);
  EXPECT_EQ(only(screening).urgency, 0);
  ASSERT_EQ(count_of(screening.doubts, "zone_not_read"), 1U);
  EXPECT_FALSE(has_problem(screening.doubts));
}

/// Two zones of equal size, by their meters alone.
TEST(Screening, RanksZonesByTheWaterAtStake) {
  Field field = small_field();
  Zone second = field.zones[0];
  second.id = "Z2";
  field.zones.push_back(second);
  for (std::size_t i = 0; i < 6; ++i) {
    Lateral lateral = field.laterals[i];
    lateral.id += "b";
    lateral.zone = 1;
    field.laterals.push_back(lateral);
  }
  Survey survey;
  survey.meter = {metered(6 * 300 * 0.9, 0), metered(6 * 300 * 0.4, 1)};
  const Screening screening = screen_zones(field, survey, not_computed(field), {}, std::nullopt);
  ASSERT_EQ(screening.zones.size(), 2U);
  EXPECT_EQ(screening.zones[0].zone, 1);
  EXPECT_GT(screening.zones[0].urgency, screening.zones[1].urgency);
  EXPECT_LE(screening.zones[0].urgency, 1);
}

TEST(Screening, ASoundVerdictSaysWhatItCouldHide) {
  const Field field = small_field();
  const Survey survey = readings(field, {}, {}, std::nullopt);
  EXPECT_THAT(only(screened(field, survey, record_when_good(field))).verdict,
              HasSubstr("would not show"));
}

TEST(Screening, ASecondFaultIsTold) {
  const Field field = small_field();
  Truth truth;
  truth.emitter_factor = 0.7;
  truth.faults.push_back({FaultKind::pinch, true, 0, 10, 0.985});
  const ScreenedZone zone =
      only(screened(field, readings(field, truth, {}, std::nullopt), record_when_good(field)));
  EXPECT_FALSE(zone.not_told);
  EXPECT_THAT(zone.verdict, HasSubstr("there may be a second one")) << zone.changes.back().told;
}

TEST(Screening, SaysWhichReadingWouldDecide) {
  const Field field = small_field();
  Survey survey;
  survey.meter = {metered(6 * 300 * 0.4)};
  const ScreenedZone zone =
      only(screen_zones(field, survey, not_computed(field), {}, std::nullopt));
  EXPECT_THAT(zone.check_first, HasSubstr("Reading the pressure at the zone inlet as well"));
}

TEST(Screening, EveryVerdictSaysHowSureAndEveryCheckWarns) {
  const Field field = small_field();
  Truth truth;
  truth.meter_factor = 1.3;
  const ScreenedZone zone =
      only(screened(field, readings(field, truth, {}, std::nullopt), record_when_good(field)));
  EXPECT_THAT(zone.verdict, HasSubstr(" %)"));
  EXPECT_THAT(zone.check_first, HasSubstr("Relieve the pressure before"));
  double sum = 0;
  for (const StateBelief& belief : zone.beliefs) sum += belief.probability;
  EXPECT_NEAR(sum, 1, 1e-12);
}

}  // namespace
}  // namespace evendrip
