// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/gauge_evidence.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "faulty_field.hpp"

namespace evendrip {
namespace {

/// A zone with gauges at the inlet and at the ends of four laterals, its emitters as rated.
test::FaultyPlan even_plan() {
  test::FaultyPlan plan;
  plan.layout.laterals = 12;
  plan.layout.length_m = 60;
  plan.emitters_sd = plan.laterals_sd = plan.plugged = 0;
  plan.gauge_sd_kpa = 1;
  plan.end_gauges = {1, 4, 7, 10};
  plan.crop = false;
  return plan;
}

struct Gauged {
  test::FaultyField zone;
  std::vector<GaugeReading> readings;
  FaultyZone solved;
  GaugeEvidence evidence;

  explicit Gauged(const test::FaultyPlan& plan)
      : zone(test::faulty_field(plan)),
        readings(gauge_readings(zone.field, zone.survey, zone.zone())),
        solved(zone.grid, *zone.zone().network, places(readings)),
        evidence(zone.field.zones[0], zone.zone(), readings, solved.clean().gauged_kpa, zone.grid,
                 *zone.zone().network) {}
  static std::vector<GaugedPlace> places(const std::vector<GaugeReading>& readings) {
    std::vector<GaugedPlace> places;
    for (const GaugeReading& reading : readings) places.push_back(reading.place);
    return places;
  }
  double gain(const Fault& fault) const {
    return evidence.log_likelihood(solved.with(std::span(&fault, 1))->gauged_kpa) -
           evidence.log_likelihood(solved.clean().gauged_kpa);
  }
};

TEST(GaugeEvidence, IsTheGaussianOfOneReadingAtTheInlet) {
  test::FaultyPlan plan = even_plan();
  plan.end_gauges.clear();
  const Gauged gauged(plan);
  ASSERT_EQ(gauged.readings.size(), 1U);
  // Stated 100 kPa with a standard deviation of 15 %, gauge of 1 kPa; two in a hundred blunders.
  const double sd = std::hypot(15.0, 1.0);
  const double z = (gauged.readings[0].kpa - 100) / sd;
  EXPECT_NEAR(gauged.evidence.log_likelihood(gauged.solved.clean().gauged_kpa),
              -0.5 * z * z - std::log(sd * std::sqrt(2 * std::numbers::pi)) + std::log(0.98), 1e-6);
}

TEST(GaugeEvidence, SpeaksForThePinchedManifoldThatStarvesItsGauges) {
  test::FaultyPlan plan = even_plan();
  const Fault pinch{FaultKind::pinch, false, 0, 9, 0.985};
  plan.faults = {pinch};
  const Gauged gauged(plan);
  EXPECT_GT(gauged.gain(pinch), 5);
  EXPECT_GT(gauged.gain(pinch), gauged.gain({FaultKind::pinch, false, 0, 1.5, 0.985}) + 5);
  EXPECT_LT(Gauged(even_plan()).gain(pinch), -5);
}

TEST(GaugeEvidence, TakesOneGaugeAloneForABlunderRatherThanAFault) {
  test::FaultyPlan plan = even_plan();
  const Fault shut{FaultKind::shut, true, 4, 0, 0};
  plan.faults = {shut};
  const double gain = Gauged(plan).gain(shut);
  EXPECT_GT(gain, 2);
  // At most the density of a sound reading over that of a blunder: 0.98 / (1 kPa sqrt(2 pi))
  // against 0.02 / 150 kPa.
  EXPECT_LT(gain, std::log(0.98 / std::sqrt(2 * std::numbers::pi) / (0.02 / 150)));
}

TEST(GaugeEvidence, HearsPressuresReadInPits) {
  test::FaultyPlan plan = even_plan();
  plan.end_gauges.clear();
  test::FaultyField zone = test::faulty_field(plan);
  CatchRecord record;
  record.pressure_kpa = 60;
  MeasuredEmitter emitter;
  emitter.site = {{6.75, 30}, 4, 30, 0};
  emitter.records = {0, 1};
  zone.survey.records = {record, record};
  zone.survey.records[1].pressure_kpa = 64;
  zone.survey.emitters = {emitter};
  const auto readings = gauge_readings(zone.field, zone.survey, zone.zone());
  ASSERT_EQ(readings.size(), 2U);
  EXPECT_EQ(readings[1].place.lateral, 4);
  EXPECT_DOUBLE_EQ(readings[1].kpa, 62);
  EXPECT_DOUBLE_EQ(readings[1].common_sd_kpa, 0.02 * 62);
}

TEST(GaugeEvidence, OfNoGaugeIsNothing) {
  Field field = invented_zone::field_of({6, 30, 1.5, 0.5, 0.25, LateralEnds::closed});
  const Expectation expectation = expect(field, {}, {}, {});
  const SegmentGrid grid = segment_grid(field, 0, 5);
  const ExpectedZone& zone = expectation.zones[0];
  const GaugeEvidence evidence(field.zones[0], zone, {}, {}, grid, *zone.network);
  EXPECT_DOUBLE_EQ(evidence.log_likelihood({}), 0);
}

}  // namespace
}  // namespace evendrip
