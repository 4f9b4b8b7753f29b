// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/zone_changes.hpp"

#include "screened_zone.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evendrip {
namespace {

using namespace invented_zone;
using ::testing::HasSubstr;

/// A field, what was read, and what is known of it; nothing is computed unless a test asks for it.
struct Case {
  Field field = gauged_field(LateralEnds::closed, 6);
  Survey survey;
  Expectation expectation;
  std::vector<MeterComparison> meter;
  std::optional<Commissioning> record;
  Doubts doubts;

  Case() { expectation.zones.resize(1); }

  void read(const std::string& port, double kpa, double sd = 1) {
    PressureReading reading;
    reading.port = port_of(field, port);
    reading.pressure_kpa = kpa;
    reading.gauge_accuracy_kpa = sd;
    survey.pressures.push_back(reading);
  }
  void recorded(const std::string& port, double kpa, double sd = 1) {
    if (!record) record.emplace();
    record->pressures.push_back({port_of(field, port), {0}, kpa, sd});
  }
  void metered(double flow_lph, double accuracy_frac = 0.02) {
    MeterReading reading;
    reading.meter = "M1";
    reading.zones = {0};
    reading.flow_lph = flow_lph;
    reading.accuracy_frac = accuracy_frac;
    survey.meter.push_back(reading);
  }
  void recorded_flow(double flow_lph) {
    if (!record) record.emplace();
    record->flows.push_back({"M1", {0}, flow_lph, 0.01 * flow_lph});
  }
  std::vector<Change> changes() {
    return zone_changes({field, survey, expectation, meter, record ? &*record : nullptr}, 0,
                        doubts);
  }
  std::optional<Change> change(Evidence evidence) {
    for (const Change& one : changes()) {
      if (one.evidence == evidence) return one;
    }
    return std::nullopt;
  }
};

// Exponent 0.5, pressure 8 % down: 95.9 % of the record is expected; 88 % of it measured leaves 8.3
// % that pressure does not explain (worked out from the formula, which is from memory).
TEST(ZoneChanges, CorrectsTheRecordedFlowForPressure) {
  Case one;
  one.read("inlet", 92);
  one.recorded("inlet", 100);
  one.metered(880);
  one.recorded_flow(1000);
  const auto flow = one.change(Evidence::flow_at_pressure);
  ASSERT_TRUE(flow);
  EXPECT_NEAR(flow->reference, 959, 0.5);
  EXPECT_NEAR(flow->change, -0.0825, 5e-4);
  EXPECT_EQ(flow->against, Change::Against::commissioning);
  EXPECT_FALSE(one.change(Evidence::flow_as_metered));
}

TEST(ZoneChanges, CarriesTheErrorsOfBothReadings) {
  Case one;
  one.metered(880, 0.02);
  one.recorded_flow(1000);
  const auto flow = one.change(Evidence::flow_as_metered);
  ASSERT_TRUE(flow);
  EXPECT_NEAR(flow->change, -0.12, 1e-12);
  EXPECT_NEAR(flow->instrument_sd, 0.88 * 0.02, 1e-12);
  EXPECT_NEAR(flow->sd, 0.88 * std::hypot(0.02, 0.01), 1e-12);
}

TEST(ZoneChanges, ZonesThatRanTogetherAreComparedTogether) {
  Case one;
  Zone second = one.field.zones[0];
  second.id = "Z2";
  one.field.zones.push_back(second);
  one.expectation.zones.resize(2);
  one.metered(1700);
  one.survey.meter[0].zones = {0, 1};
  one.recorded_flow(1000);
  one.record->flows.push_back({"M1", {1, 0}, 2000, 20});
  const auto flow = one.change(Evidence::flow_as_metered);
  ASSERT_TRUE(flow);
  EXPECT_NEAR(flow->change, -0.15, 1e-12);
  EXPECT_THAT(flow->told, HasSubstr("Z1 and Z2 together"));
}

TEST(ZoneChanges, AnotherMeterHasAnotherRecord) {
  Case one;
  one.metered(900);
  one.recorded_flow(1000);
  one.record->flows[0].meter = "M7";
  EXPECT_EQ(one.change(Evidence::flow_as_metered)->against, Change::Against::rating);
  one.survey.meter[0].meter = "";
  EXPECT_EQ(one.change(Evidence::flow_as_metered)->against, Change::Against::commissioning);
}

TEST(ZoneChanges, ACompensatingEmitterHasNothingToCorrectFor) {
  Case one;
  one.field.zones[0].emitter.pressure_compensating_kpa = std::pair{50.0, 250.0};
  one.read("inlet", 80);
  one.recorded("inlet", 100);
  one.metered(880);
  one.recorded_flow(1000);
  EXPECT_NEAR(one.change(Evidence::flow_at_pressure)->reference, 1000, 1e-9);
}

TEST(ZoneChanges, TakesTheReferenceOfTheMeterTableWhereThereIsNoRecord) {
  Case one;
  one.read("inlet", 92);
  one.metered(880);
  one.survey.meter[0].reference_flow_lph = 1000;
  one.survey.meter[0].reference_pressure_kpa = 100;
  EXPECT_NEAR(one.change(Evidence::flow_at_pressure)->reference, 959, 0.5);
  one.survey.meter[0].reference_pressure_kpa.reset();
  EXPECT_NEAR(one.change(Evidence::flow_as_metered)->reference, 1000, 1e-9);
}

TEST(ZoneChanges, ComparesTheInletWithTheRecordElseWithTheStatement) {
  Case one;
  one.read("inlet", 90);
  auto inlet = one.change(Evidence::zone_inlet);
  ASSERT_TRUE(inlet);
  EXPECT_EQ(inlet->against, Change::Against::statement);
  EXPECT_NEAR(inlet->change, -0.10, 1e-12);  // field.toml says 100 kPa
  EXPECT_GT(inlet->sd, 0.045);
  one.recorded("inlet", 120);
  inlet = one.change(Evidence::zone_inlet);
  EXPECT_EQ(inlet->against, Change::Against::commissioning);
  EXPECT_NEAR(inlet->change, -0.25, 1e-12);
}

TEST(ZoneChanges, BringsAGaugeToTheHeightOfTheLineBeforeComparingWithAStatement) {
  Case one;
  one.field.ports[static_cast<std::size_t>(port_of(one.field, "inlet"))].gauge_height_m = 0.85;
  one.read("inlet", 91.7);
  // 0.85 m of water are 8.34 kPa.
  EXPECT_NEAR(one.change(Evidence::zone_inlet)->measured, 100.04, 0.01);
}

TEST(ZoneChanges, ReadingsOfFlushingAndOfOtherZonesDoNotCount) {
  Case one;
  Zone other = one.field.zones[0];
  other.id = "Z2";
  one.field.zones.push_back(other);
  one.field.ports[static_cast<std::size_t>(port_of(one.field, "filter_in"))].zones = {0, 1};
  one.expectation.zones.resize(2);
  one.recorded("filter_in", 150);
  one.read("filter_in", 60);
  one.survey.pressures.back().running = "flushing";
  one.read("filter_in", 75);
  one.survey.pressures.back().zones_open = "Z2";
  EXPECT_FALSE(one.change(Evidence::before_filter));
  one.read("filter_in", 165);
  one.survey.pressures.back().zones_open = "Z1";
  EXPECT_NEAR(one.change(Evidence::before_filter)->change, 0.1, 1e-12);
}

TEST(ZoneChanges, UpstreamGaugesNeedARecord) {
  Case one;
  for (const char* port : {"filter_in", "filter_out", "valve_in"}) one.read(port, 120);
  EXPECT_TRUE(one.changes().empty());
  for (const char* port : {"filter_in", "filter_out", "valve_in"}) one.recorded(port, 100);
  for (const Evidence evidence :
       {Evidence::before_filter, Evidence::after_filter, Evidence::before_valve}) {
    ASSERT_TRUE(one.change(evidence)) << to_text(evidence);
    EXPECT_NEAR(one.change(evidence)->change, 0.2, 1e-12);
  }
}

TEST(ZoneChanges, AFarEndIsComparedWithWhatTheInletLeavesThere) {
  Case one;
  one.read("inlet", 80);
  one.recorded("inlet", 100);
  one.recorded("end0", 90);
  // Loss 10 kPa at 100 kPa; flow goes as the root of pressure and the loss as flow^1.75.
  const double expected = 80 - 10 * std::pow(0.8, 0.875);
  one.read("end0", expected);
  const auto end = one.change(Evidence::far_end_at_inlet);
  ASSERT_TRUE(end);
  EXPECT_NEAR(end->change, 0, 1e-12);
  EXPECT_FALSE(one.change(Evidence::far_end_as_read));
}

TEST(ZoneChanges, WithoutAnInletGaugeAFarEndIsComparedAsRead) {
  Case one;
  one.recorded("end0", 90);
  one.read("end0", 72);
  EXPECT_NEAR(one.change(Evidence::far_end_as_read)->change, -0.2, 1e-12);
}

TEST(ZoneChanges, TheWeakestEndStandsOutFromTheOthersAlsoWithoutAnyReference) {
  Case one;
  one.read("end0", 92);
  one.read("end1", 91);
  one.read("end2", 40);
  one.read("end3", 93);
  const auto weakest = one.change(Evidence::weakest_end);
  ASSERT_TRUE(weakest);
  EXPECT_EQ(weakest->against, Change::Against::neighbours);
  EXPECT_LT(weakest->change, -0.45);
  EXPECT_THAT(weakest->told, HasSubstr("end2"));
}

TEST(ZoneChanges, WithoutPipesOrRecordLinesAreTakenToLoseATenth) {
  Case one;
  one.read("inlet", 100);
  one.read("end0", 72);
  const auto end = one.change(Evidence::far_end_at_inlet);
  ASSERT_TRUE(end);
  EXPECT_EQ(end->against, Change::Against::rule);
  EXPECT_NEAR(end->change, -0.2, 1e-12);
  EXPECT_GT(end->sd, 0.1);
}

TEST(ZoneChanges, WithoutAStatedInletPressureTheRatedOneStandsWithAWideError) {
  Case one;
  one.field.zones[0].inlet_pressure_kpa = 0;
  one.read("inlet", 60);
  auto inlet = one.change(Evidence::zone_inlet);
  ASSERT_TRUE(inlet);
  EXPECT_EQ(inlet->against, Change::Against::rating);
  EXPECT_NEAR(inlet->change, -0.4, 1e-12);
  EXPECT_GT(inlet->sd, 0.15);
  one.survey.pressures.clear();
  one.metered(1000);
  const auto flow = one.change(Evidence::flow_as_metered);
  ASSERT_TRUE(flow);
  // 6 lines of 300 emitters, 1 L/h at 100 kPa, 0.905 of it in the soil.
  EXPECT_NEAR(flow->reference, 6 * 300 * 0.905, 1e-6);
  EXPECT_THAT(flow->told, HasSubstr("rated pressure"));
}

TEST(ZoneChanges, EndsThatDifferByChanceAloneHaveNoWeakest) {
  Case one;
  for (int i = 0; i < 4; ++i) one.read("end" + std::to_string(i), 90 + i);
  EXPECT_NEAR(one.change(Evidence::weakest_end)->change, 0, 0.02);
}

TEST(ZoneChanges, ComparesWithTheCleanNetworkWhereThereIsNoRecord) {
  Case one;
  Truth truth;
  truth.faults.push_back({FaultKind::pinch, true, 0, 75, 0.93});
  one.survey = readings(one.field, truth, {}, std::nullopt);
  one.expectation = expect(one.field, one.survey, {}, {});
  one.meter = compare_meter(one.field, one.survey, one.expectation, one.doubts);
  const auto flow = one.change(Evidence::flow_at_pressure);
  ASSERT_TRUE(flow);
  EXPECT_EQ(flow->against, Change::Against::model);
  EXPECT_GT(flow->sd, 0.07);  // the rated tolerance is in it
  EXPECT_LT(flow->instrument_sd, 0.03);
  const auto weakest = one.change(Evidence::weakest_end);
  ASSERT_TRUE(weakest);
  EXPECT_LT(weakest->change, -0.05);
  EXPECT_THAT(weakest->told, HasSubstr("end0"));
  const auto middle = one.change(Evidence::far_end_at_inlet);
  ASSERT_TRUE(middle);
  EXPECT_NEAR(middle->change, 0, 0.02);
}

TEST(ZoneChanges, WithoutLateralsEmittersAreCountedByArea) {
  Case one;
  one.metered(1000);
  const double by_lines = one.change(Evidence::flow_as_metered)->reference;
  one.field.laterals.clear();
  one.field.crs = parse_crs("EPSG:32614");
  for (Polygon& part : one.field.zones[0].area) {
    for (Point& corner : part.outer) corner = {corner.x + 500'000, corner.y + 4'200'000};
  }
  const auto flow = one.change(Evidence::flow_as_metered);
  ASSERT_TRUE(flow);
  // 9 m x 150 m, an emitter on every 1.5 m x 0.5 m: as many as six lines of 300 have. Grid over
  // ground is 0.9996 on the central meridian.
  EXPECT_NEAR(flow->reference, by_lines / (0.9996 * 0.9996), 1e-4 * by_lines);
}

TEST(ZoneChanges, TellsAFilterThatTakesTooMuch) {
  Case one;
  one.read("filter_in", 200);
  one.read("filter_out", 140);
  one.changes();
  EXPECT_EQ(count_of(one.doubts, "filter_loss_high"), 1U);
  Case clean;
  clean.read("filter_in", 200);
  clean.read("filter_out", 180);
  clean.changes();
  EXPECT_TRUE(clean.doubts.empty());
}

TEST(ZoneChanges, TextsStandInTheReportUnits) {
  Case one;
  one.field.report_units = UnitSystem::us;
  one.read("inlet", 100);
  one.metered(1000);
  one.recorded_flow(1100);
  EXPECT_THAT(one.change(Evidence::zone_inlet)->told, HasSubstr("14.5 psi"));
  EXPECT_THAT(one.change(Evidence::flow_as_metered)->told, HasSubstr("4.403 gpm"));
  one.field.report_units = UnitSystem::metric;
  EXPECT_THAT(one.change(Evidence::flow_as_metered)->told, HasSubstr("1 m3/h"));
}

TEST(RecordOfToday, HoldsEveryReadingOfTheDay) {
  Case one;
  one.survey.date = "2026-05-12";
  one.read("inlet", 99, 1.5);
  one.read("inlet", 101, 0);
  one.read("end0", 30);
  one.survey.pressures.back().running = "flushing";
  one.metered(1000, 0.03);
  const Commissioning record = record_of(one.field, one.survey);
  EXPECT_EQ(record.date, "2026-05-12");
  ASSERT_EQ(record.pressures.size(), 1U);
  EXPECT_DOUBLE_EQ(record.pressures[0].pressure_kpa, 100);
  EXPECT_DOUBLE_EQ(record.pressures[0].accuracy_kpa, 2.02);
  EXPECT_EQ(record.pressures[0].zones, std::vector<int>{0});
  ASSERT_EQ(record.flows.size(), 1U);
  EXPECT_DOUBLE_EQ(record.flows[0].flow_lph, 1000);
  EXPECT_DOUBLE_EQ(record.flows[0].accuracy_lph, 30);
}

TEST(RecordOfToday, ComparedWithItselfShowsNoChange) {
  const Field field = gauged_field(LateralEnds::closed, 6);
  Case one;
  one.survey = readings(field, {}, {}, std::nullopt);
  one.record = record_of(field, one.survey);
  const auto changes = one.changes();
  EXPECT_EQ(changes.size(), 7U);
  for (const Change& change : changes) EXPECT_NEAR(change.change, 0, 1e-9) << change.told;
}

}  // namespace
}  // namespace evendrip
