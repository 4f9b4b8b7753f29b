// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/hydraulics_tables.hpp"

#include "evendrip/geo/line.hpp"

#include "small_story.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>

namespace evendrip {
namespace {

std::size_t column(const ResultLayer& layer, const std::string& name) {
  const auto found = std::find_if(layer.fields.begin(), layer.fields.end(),
                                  [&name](const LayerField& field) { return field.name == name; });
  if (found == layer.fields.end()) throw std::out_of_range("no column " + name);
  return static_cast<std::size_t>(found - layer.fields.begin());
}

double number_in(const ResultLayer& layer, const LayerRow& row, const std::string& name) {
  return std::get<double>(row.values[column(layer, name)]);
}

std::string text_in(const ResultLayer& layer, const LayerRow& row, const std::string& name) {
  return std::get<std::string>(row.values[column(layer, name)]);
}

TEST(ExpectedEmitters, HoldEveryEmitterAtItsPlaceOnItsLateral) {
  const Story& story = test::shared_story("hydraulics_tables_emitters");
  const ResultLayer layer = expected_emitters_layer(story);
  std::size_t emitters = 0;
  for (const Lateral& lateral : story.field.laterals)
    emitters += static_cast<std::size_t>(lateral.emitters);
  ASSERT_EQ(layer.made_rows, emitters);
  double sum_lph = 0;
  std::map<std::string, long long> last;
  for (std::size_t i = 0; i < layer.made_rows; ++i) {
    const LayerRow row = layer.make_row(i);
    ASSERT_EQ(row.values.size(), layer.fields.size());
    sum_lph += number_in(layer, row, "expected_lph");
    const std::string lateral = text_in(layer, row, "lateral");
    const long long emitter = std::get<long long>(row.values[column(layer, "emitter")]);
    EXPECT_EQ(emitter, ++last[lateral]);
    const auto known = std::find_if(story.field.laterals.begin(), story.field.laterals.end(),
                                    [&](const Lateral& l) { return l.id == lateral; });
    EXPECT_LT(project_onto(known->line, std::get<Point>(row.shape)).distance_m, 1e-6);
  }
  double total_lph = 0;
  for (const ExpectedZone& zone : story.expectation.zones) total_lph += zone.total_lph;
  EXPECT_NEAR(sum_lph, total_lph, 1e-6 * total_lph);
}

TEST(Pipes, CarryInEachZoneWhatItsEmittersGive) {
  const Story& story = test::shared_story("hydraulics_tables_pipes");
  const ResultLayer layer = pipes_layer(story);
  std::map<std::string, double> net_lph;
  std::size_t laterals = 0;
  for (const LayerRow& row : layer.rows) {
    ASSERT_EQ(row.values.size(), layer.fields.size());
    EXPECT_GT(length_m(std::get<Line>(row.shape)), 0);
    EXPECT_LE(number_in(layer, row, "from_m"), number_in(layer, row, "to_m"));
    if (text_in(layer, row, "kind") != "lateral") continue;
    ++laterals;
    net_lph[text_in(layer, row, "zone")] +=
        number_in(layer, row, "flow_lph") - number_in(layer, row, "end_flow_lph");
    EXPECT_GT(number_in(layer, row, "loss_kpa"), 0);
    EXPECT_GT(number_in(layer, row, "velocity_m_s"), 0);
  }
  EXPECT_EQ(laterals, story.field.laterals.size());
  for (const ExpectedZone& zone : story.expectation.zones) {
    const std::string& id = story.field.zones[static_cast<std::size_t>(zone.zone)].id;
    // In the soil, where the pipes feed them.
    const double in_soil_lph = zone.gauges.soil_factor.value * zone.total_lph;
    EXPECT_NEAR(net_lph[id], in_soil_lph, 1e-6 * in_soil_lph) << id;
  }
}

TEST(Pipes, OfASupplyManifoldLoseFlowFromJointToJoint) {
  const Story& story = test::shared_story("hydraulics_tables_sections");
  const ResultLayer layer = pipes_layer(story);
  double largest_lph = 0;
  double length = 0;
  for (const LayerRow& row : layer.rows) {
    if (text_in(layer, row, "kind") != "supply" || text_in(layer, row, "zone") != "Z1") continue;
    largest_lph = std::max(largest_lph, std::abs(number_in(layer, row, "flow_lph")));
    length += number_in(layer, row, "to_m") - number_in(layer, row, "from_m");
  }
  EXPECT_LE(largest_lph, story.expectation.zones[0].total_lph * (1 + 1e-9));
  EXPECT_GT(largest_lph, 0.4 * story.expectation.zones[0].total_lph);
  EXPECT_GT(length, 10);
}

TEST(Ports, TellMeasuredAgainstModelled) {
  const Story& story = test::shared_story("hydraulics_tables_ports");
  const ResultLayer layer = ports_layer(story);
  std::size_t compared = 0;
  for (const LayerRow& row : layer.rows) {
    ASSERT_EQ(row.values.size(), layer.fields.size());
    const CellValue& modelled = row.values[column(layer, "modelled_kpa")];
    const bool known = std::holds_alternative<double>(modelled);
    EXPECT_EQ(text_in(layer, row, "state") == "not_compared", !known);
    if (!known) continue;
    ++compared;
    EXPECT_NEAR(number_in(layer, row, "measured_kpa"), std::get<double>(modelled), 60);
  }
  std::size_t expected = 0;
  for (const ExpectedZone& zone : story.expectation.zones) expected += zone.gauges.ports.size();
  EXPECT_EQ(compared, expected);
  EXPECT_GT(compared, 2U);
}

TEST(ZoneHydraulics, SayWhyAZoneIsNotComputed) {
  const Story& story = test::shared_story_without_manifolds("hydraulics_tables_none");
  const ResultLayer layer = zone_hydraulics_layer(story);
  ASSERT_EQ(layer.rows.size(), 2U);
  for (const LayerRow& row : layer.rows) {
    ASSERT_EQ(row.values.size(), layer.fields.size());
    EXPECT_NE(text_in(layer, row, "not_computed").find("manifolds"), std::string::npos);
  }
}

TEST(ZoneHydraulics, HoldTheInletPressureAndTheDugEmittersOfEachZone) {
  const Story& story = test::shared_story("hydraulics_tables_zones");
  const ResultLayer layer = zone_hydraulics_layer(story);
  ASSERT_EQ(layer.rows.size(), 2U);
  for (std::size_t z = 0; z < 2; ++z) {
    const LayerRow& row = layer.rows[z];
    ASSERT_EQ(row.values.size(), layer.fields.size());
    EXPECT_EQ(number_in(layer, row, "inlet_kpa"),
              story.expectation.zones[z].gauges.inlet_kpa.value);
    EXPECT_LE(number_in(layer, row, "delivery_low"), number_in(layer, row, "delivery_mean"));
  }
}

TEST(Design, HasOneRowForEachCheckWithAndWithoutAFlush) {
  Story story = test::small_story("hydraulics_tables_design");
  DesignCheck check;
  check.zone = 0;
  check.lowest_lateral = 0;
  check.emission_uniformity = 0.93;
  story.design = {check, check};
  story.design[1].zone = 1;
  story.design[1].flush = FlushCheck{};
  story.design[1].flush->smallest_velocity_m_s = 0.27;
  const ResultLayer layer = design_layer(story);
  ASSERT_EQ(layer.rows.size(), 2U);
  for (const LayerRow& row : layer.rows) ASSERT_EQ(row.values.size(), layer.fields.size());
  const std::size_t velocity = column(layer, "flush_smallest_velocity_m_s");
  EXPECT_TRUE(std::holds_alternative<std::monostate>(layer.rows[0].values[velocity]));
  EXPECT_DOUBLE_EQ(number_in(layer, layer.rows[1], "flush_smallest_velocity_m_s"), 0.27);
}

TEST(Meter, HasOneRowForEachReadingCompared) {
  const Story& story = test::shared_story("hydraulics_tables_meter");
  const ResultLayer layer = meter_layer(story);
  EXPECT_EQ(layer.rows.size(), story.meter.size());
  ASSERT_FALSE(layer.rows.empty());
  for (const LayerRow& row : layer.rows) {
    ASSERT_EQ(row.values.size(), layer.fields.size());
    EXPECT_NEAR(
        number_in(layer, row, "ratio"),
        number_in(layer, row, "measured_lph") / number_in(layer, row, "expected_in_soil_lph"),
        1e-9);
  }
}

}  // namespace
}  // namespace evendrip
