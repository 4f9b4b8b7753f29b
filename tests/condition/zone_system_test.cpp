// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/zone_system.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "../hydraulics/small_zone.hpp"

namespace evendrip {
namespace {

/// A zone whose four holes on two laterals run at 95 %, and what its meter shows of the clean flow.
FieldCondition judged_with(double meter_share) {
  const Field field = invented_zone::field_of({10, 100, 1.5, 0.5, 0.25, LateralEnds::closed});
  Survey survey;
  PressureReading inlet;
  inlet.port = 0;
  inlet.pressure_kpa = 100;
  inlet.gauge_accuracy_kpa = 1;
  survey.pressures = {inlet};
  Expectation expectation = expect(field, survey, {}, {});
  if (meter_share > 0) {
    MeterReading meter;
    meter.zones = {0};
    meter.flow_lph = meter_share * 0.905 * expectation.zones[0].total_lph;
    survey.meter.push_back(meter);
  }
  DischargeSamples samples;
  samples.zones = {{0, 4, 0, 1.0, ReferenceKind::clean_system}};
  for (const int lateral : {2, 7})
    for (const double station_m : {20.0, 70.0})
      samples.samples.push_back(
          {{{1.5 * (lateral + 0.5), station_m}, lateral, station_m, 0}, 0.95, 1e-4});
  ConditionOptions options;
  options.draws = 200;
  options.segment_m = 10;
  return judge_condition(field, survey, expectation, samples, {}, options, {});
}

TEST(ZoneSystem, HearsTheMeterAsOneDatumOnTheMean) {
  const FieldCondition unmetered = judged_with(0);
  const FieldCondition low = judged_with(0.75);
  const ZoneState& without = unmetered.zones[0];
  const ZoneState& with = low.zones[0];
  ASSERT_TRUE(without.judged && with.judged);
  EXPECT_FALSE(without.meter);
  EXPECT_TRUE(without.moved_by_meter.empty());
  ASSERT_TRUE(with.meter);
  EXPECT_LT(with.meter->moved, -0.003);
  EXPECT_NEAR(with.mean_unmetered.value, without.mean_delivery.value, 1e-12);
  EXPECT_NEAR(with.mean_delivery.value - with.mean_unmetered.value,
              (1 - with.condition.plugged_share) * with.meter->moved, 0.003);
  EXPECT_LT(with.mean_delivery.sd, with.mean_unmetered.sd);
  EXPECT_NE(with.told.find("moves the zone's mean by -"), std::string::npos) << with.told;
  for (std::size_t i = 0; i < with.segments.size(); ++i)
    EXPECT_LT(with.segments[i].delivery.value, without.segments[i].delivery.value);
}

TEST(ZoneSystem, TellsWhatMovedEachSegmentWithTheMeter) {
  const FieldCondition found = judged_with(0.8);
  const ZoneState& zone = found.zones[0];
  ASSERT_EQ(zone.moved_by_meter.size(), zone.condition.estimate.r.size());
  for (std::size_t i = 0; i < zone.moved_by_meter.size(); ++i) {
    EXPECT_NEAR(zone.moved_by.holes[i] + zone.moved_by.crop[i] + zone.moved_by_meter[i] +
                    zone.moved_by_spread[i],
                zone.condition.estimate.r[i] - 1, 1e-9);
    // The sum of the parts still is what it tells of.
    const int row = static_cast<int>(i) / zone.grid.stations();
    const int station = static_cast<int>(i) % zone.grid.stations();
    const ConditionEstimate& e = zone.condition.estimate;
    EXPECT_NEAR(1 + e.level + e.along[static_cast<std::size_t>(station)] +
                    e.own[static_cast<std::size_t>(row)] + e.group[static_cast<std::size_t>(row)] +
                    e.local[i],
                e.r[i], 1e-9);
  }
}

TEST(ZoneSystem, AgreesWithAMeterThatAgrees) {
  const FieldCondition found = judged_with(0.95);
  const ZoneState& zone = found.zones[0];
  EXPECT_NE(zone.told.find("they agree"), std::string::npos) << zone.told;
  EXPECT_LT(std::abs(zone.meter->moved), 0.01);
}

}  // namespace
}  // namespace evendrip
