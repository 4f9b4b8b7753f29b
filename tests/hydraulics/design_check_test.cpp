// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/design_check.hpp"

#include "evendrip/hydraulics/meter.hpp"
#include "small_zone.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

namespace evendrip {
namespace {

using invented_zone::count_of;
using invented_zone::Layout;

Layout small_layout(LateralEnds ends = LateralEnds::closed, int laterals = 12) {
  Layout layout;
  layout.laterals = laterals;
  layout.length_m = 100;
  layout.ends = ends;
  return layout;
}

std::vector<DesignCheck> checked(const Field& field, Doubts& doubts, int threads = 1,
                                 const Survey& survey = {}) {
  Work work;
  work.threads = threads;
  const Expectation expectation = expect(field, survey, {}, work);
  return check_design(field, survey, expectation, work, doubts);
}

DesignCheck only_check(const Field& field) {
  Doubts doubts;
  const auto checks = checked(field, doubts);
  if (checks.size() != 1) throw std::logic_error("the zone was not computed");
  return checks.front();
}

/// Velocity at the far end of a lateral when those are opened, by the network with its emitters in
/// the soil.
double end_velocity(const Field& field, const std::vector<int>& opened, double inlet_kpa,
                    int lateral) {
  Doubts doubts;
  const auto clean = zone_network(field, 0, Terrain(field), {}, doubts);
  const double in_soil = in_soil_ratio(field.zones[0].emitter.discharge_lph).value;
  const ZoneNetwork buried = as_gauged(*clean, inlet_kpa, 1, in_soil);
  const ZoneNetwork open = with_open_ends(field, buried, opened);
  const NetworkState state = solve_network(open.network);
  const NetworkLateral& line = open.laterals[static_cast<std::size_t>(lateral)];
  const auto last = static_cast<std::size_t>(line.first_pipe) + line.nodes.size() - 2;
  return velocity_m_s(state.flow_m3_s[last], open.network.pipes[last].diameter_m);
}

TEST(DesignCheck, NeedsSensibleValues) {
  EXPECT_THROW(design_emission_uniformity(-0.1, 1, 1, 1), std::invalid_argument);
  EXPECT_THROW(design_emission_uniformity(0.1, 0.5, 1, 1), std::invalid_argument);
  EXPECT_THROW(design_emission_uniformity(0.1, 1, 1, 0), std::invalid_argument);
  EXPECT_THROW(flow_variation(0, 0), std::invalid_argument);
  EXPECT_THROW(flushing_flow_lph(0.3, 0), std::invalid_argument);
}

TEST(DesignCheck, LooksAtEveryEmitterOfTheZone) {
  Field field = invented_zone::field_of(small_layout());
  field.zones[0].emitter.manufacturing_cv = 0.05;
  Doubts doubts;
  const Expectation expectation = expect(field, {}, {}, {});
  const auto check = only_check(field);
  double sum = 0;
  double least = 1e9;
  double most = 0;
  for (const double lph : expectation.zones[0].state.discharge_lph) {
    sum += lph;
    least = std::min(least, lph);
    most = std::max(most, lph);
  }
  const double mean = sum / static_cast<double>(expectation.zones[0].state.discharge_lph.size());
  EXPECT_DOUBLE_EQ(check.smallest_lph, least);
  EXPECT_DOUBLE_EQ(check.largest_lph, most);
  EXPECT_NEAR(check.mean_lph, mean, 1e-12 * mean);
  EXPECT_NEAR(check.emission_uniformity, (1 - 1.27 * 0.05) * least / mean, 1e-12);
  EXPECT_NEAR(check.flow_variation, 1 - least / most, 1e-12);
}

TEST(DesignCheck, LevelLinesHaveTheLeastPressureAtTheFarEndOfTheLastLine) {
  const DesignCheck check = only_check(invented_zone::field_of(small_layout()));
  EXPECT_EQ(check.lowest_lateral, 11);
  EXPECT_GT(check.lowest_station_m, 99);
  EXPECT_LT(check.lowest_kpa, check.highest_kpa);
  EXPECT_EQ(check.highest_lateral, 0);
  EXPECT_LT(check.highest_kpa, 100);
}

TEST(DesignCheck, ClosedEndsAreFlushedAFewAtATime) {
  const Field field = invented_zone::field_of(small_layout());
  const DesignCheck check = only_check(field);
  ASSERT_TRUE(check.flush);
  EXPECT_EQ(check.flush->lines_open, 9);
  // The nine nearest to the last line, whose end has the least pressure.
  const std::vector<int> nine{3, 4, 5, 6, 7, 8, 9, 10, 11};
  double slowest = 1e9;
  for (const int lateral : nine) {
    slowest = std::min(slowest, end_velocity(field, nine, 100, lateral));
  }
  EXPECT_NEAR(check.flush->smallest_velocity_m_s, slowest, 1e-6);
}

TEST(DesignCheck, LinesAtOnceIsTheLargestNumberThatReachesTheVelocity) {
  // A narrow manifold, so that not all lines can be flushed at once.
  Field field = invented_zone::field_of(small_layout());
  field.manifolds[0].inside_diameter_mm = 16;
  const DesignCheck check = only_check(field);
  ASSERT_TRUE(check.flush);
  const int most = check.flush->lines_at_once;
  ASSERT_GT(most, 0);
  ASSERT_LT(most, 12);
  const auto slowest_of = [&](int lines) {
    std::vector<int> opened;
    for (int i = 0; i < lines; ++i) opened.push_back(11 - i);
    double slowest = 1e9;
    for (const int lateral : opened) {
      slowest = std::min(slowest, end_velocity(field, opened, 100, lateral));
    }
    return slowest;
  };
  EXPECT_GE(slowest_of(most), 0.3);
  EXPECT_LT(slowest_of(most + 1), 0.3);
}

TEST(DesignCheck, NeededInletPressureGivesTheVelocity) {
  const Field field = invented_zone::field_of(small_layout());
  const DesignCheck check = only_check(field);
  ASSERT_TRUE(check.flush && std::isfinite(check.flush->needed_inlet_kpa));
  const std::vector<int> nine{3, 4, 5, 6, 7, 8, 9, 10, 11};
  EXPECT_NEAR(end_velocity(field, nine, check.flush->needed_inlet_kpa, 11), 0.3, 2e-3);
}

TEST(DesignCheck, TheTapesLimitStopsTheSearchForPressure) {
  Field field = invented_zone::field_of(small_layout());
  const double needed = only_check(field).flush->needed_inlet_kpa;
  field.zones[0].lateral.max_pressure_kpa = 0.8 * needed;
  EXPECT_TRUE(std::isnan(only_check(field).flush->needed_inlet_kpa));
  field.zones[0].lateral.max_pressure_kpa = 1.2 * needed;
  EXPECT_NEAR(only_check(field).flush->needed_inlet_kpa, needed, 0.2);
}

TEST(DesignCheck, AFlushManifoldIsFlushedWhole) {
  const Field field = invented_zone::field_of(small_layout(LateralEnds::flush_manifold));
  const DesignCheck check = only_check(field);
  ASSERT_TRUE(check.flush);
  EXPECT_EQ(check.flush->lines_open, 12);
  double slowest = 1e9;
  for (int i = 0; i < 12; ++i) slowest = std::min(slowest, end_velocity(field, {}, 100, i));
  EXPECT_NEAR(check.flush->smallest_velocity_m_s, slowest, 1e-6);
  EXPECT_EQ(check.flush->reaches_0_3, slowest >= 0.3);
  EXPECT_EQ(check.flush->lines_at_once, slowest >= 0.3 ? 12 : 0);
}

TEST(DesignCheck, LinesFedFromBothEndsHaveNoFarEndToFlush) {
  EXPECT_FALSE(only_check(invented_zone::field_of(small_layout(LateralEnds::both_fed))).flush);
}

TEST(DesignCheck, FlushingTakesMoreThanIrrigating) {
  const DesignCheck check = only_check(invented_zone::field_of(small_layout()));
  EXPECT_GT(check.flush->inflow_lph, check.mean_lph * 12 * 200);
}

TEST(DesignCheck, TellsSlowEndsUnevenFlowAndTooMuchPressure) {
  Layout layout = small_layout();
  layout.length_m = 300;
  Field field = invented_zone::field_of(layout);
  field.zones[0].emitter.discharge_lph = 3;
  field.zones[0].lateral.max_pressure_kpa = 90;
  Doubts doubts;
  checked(field, doubts);
  EXPECT_EQ(count_of(doubts, "low_flushing_velocity"), 1U);
  EXPECT_EQ(count_of(doubts, "flow_variation_large"), 1U);
  EXPECT_EQ(count_of(doubts, "pressure_beyond_limit"), 1U);
  Doubts none;
  checked(invented_zone::field_of(small_layout(LateralEnds::closed, 2)), none);
  EXPECT_EQ(count_of(none, "flow_variation_large") + count_of(none, "pressure_beyond_limit"), 0U);
}

TEST(DesignCheck, KnowsTheLargestMeteredFlowOfTheSurvey) {
  const Field field = invented_zone::field_of(small_layout());
  Survey survey;
  MeterReading reading;
  reading.zones = {0};
  reading.flow_lph = 2100;
  survey.meter = {reading, reading};
  survey.meter[0].flow_lph = 2300;
  Doubts doubts;
  EXPECT_DOUBLE_EQ(checked(field, doubts, 1, survey).front().supply_lph, 2300);
}

TEST(DesignCheck, DoesNotDependOnTheNumberOfThreads) {
  const Field field = invented_zone::field_of(small_layout());
  Doubts doubts;
  const auto one = checked(field, doubts, 1);
  const auto three = checked(field, doubts, 3);
  EXPECT_EQ(one.front().flush->smallest_velocity_m_s, three.front().flush->smallest_velocity_m_s);
  EXPECT_EQ(one.front().flush->needed_inlet_kpa, three.front().flush->needed_inlet_kpa);
}

}  // namespace
}  // namespace evendrip
