// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/hydraulics_summary.hpp"

#include "small_story.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace evendrip {
namespace {

using ::testing::HasSubstr;

DesignCheck example_check() {
  DesignCheck check;
  check.zone = 0;
  check.emission_uniformity = 0.931;
  check.flow_variation = 0.084;
  check.lowest_kpa = 91.2;
  check.highest_kpa = 108;
  check.lowest_lateral = 0;
  check.lowest_station_m = 58;
  check.supply_lph = 2000;
  FlushCheck flush;
  flush.inlet_pressure_kpa = 108;
  flush.lines_open = 4;
  flush.smallest_velocity_m_s = 0.27;
  flush.inflow_lph = 2500;
  check.flush = flush;
  return check;
}

TEST(HydraulicsText, TellsInletFactorsDeliveryMeterAndDesign) {
  Story story = test::small_story("hydraulics_text");
  story.design = {example_check()};
  const std::string text = hydraulics_text(story);
  EXPECT_THAT(text, HasSubstr("Hydraulics: "));
  EXPECT_THAT(text, HasSubstr("Z1: inlet "));
  EXPECT_THAT(text, HasSubstr(" +/- "));
  EXPECT_THAT(text, HasSubstr("(" + story.expectation.zones[0].gauges.inlet_source + ")"));
  EXPECT_THAT(text, HasSubstr("dug emitters, delivery"));
  EXPECT_THAT(text, HasSubstr("dug emitters, performance"));
  EXPECT_THAT(text, HasSubstr("expected with the emitters in the soil: ratio"));
  EXPECT_THAT(text, HasSubstr("design emission uniformity 93.1 %, flow variation 8.4 %"));
  EXPECT_THAT(text, HasSubstr("does not reach 0.3 m/s; more than the 2 m3/h metered so far"));
  story.field.report_units = UnitSystem::us;
  const std::string us = hydraulics_text(story);
  EXPECT_THAT(us, HasSubstr(" psi"));
  EXPECT_THAT(us, HasSubstr(" gpm"));
  EXPECT_THAT(us, HasSubstr("ft/s"));
}

TEST(HydraulicsText, TellsPortsThatDisagree) {
  Story story = test::small_story("hydraulics_text_ports");
  auto& ports = story.expectation.zones[0].gauges.ports;
  ASSERT_FALSE(ports.empty());
  for (PortComparison& port : ports) port.flagged = false;
  EXPECT_THAT(hydraulics_text(story), HasSubstr("agree with the model"));
  ports[0].flagged = true;
  const std::string& id = story.field.ports[static_cast<std::size_t>(ports[0].port)].id;
  EXPECT_THAT(hydraulics_text(story), HasSubstr("port " + id + ": "));
}

TEST(HydraulicsText, IsEmptyWhereNoZoneIsComputed) {
  const Story& story = test::shared_story_without_manifolds("hydraulics_text_none");
  EXPECT_EQ(hydraulics_text(story), "");
  EXPECT_FALSE(any_zone_computed(story));
}

TEST(HydraulicsJson, HoldsZonesPortsMeterAndDesignInCanonicalUnits) {
  Story story = test::small_story("hydraulics_json");
  story.design = {example_check()};
  const auto json = hydraulics_json(story);
  EXPECT_EQ(json["method"], story.expectation.method_text());
  ASSERT_EQ(json["zones"].size(), 2U);
  const auto& zone = json["zones"][0];
  EXPECT_TRUE(zone["computed"]);
  EXPECT_EQ(zone["relative_to"], "what a clean system would give at that place");
  EXPECT_EQ(zone["inlet_kpa"]["value"], story.expectation.zones[0].gauges.inlet_kpa.value);
  EXPECT_EQ(zone["delivery"]["emitters"], judged_zone(story, 0).emitters);
  EXPECT_EQ(zone["ports"].size(), story.expectation.zones[0].gauges.ports.size());
  EXPECT_EQ(json["meter"].size(), story.meter.size());
  EXPECT_DOUBLE_EQ(json["design"][0]["flush"]["smallest_velocity_m_s"], 0.27);
}

TEST(HydraulicsJson, SaysWhatAZoneNeeds) {
  const Story& story = test::shared_story_without_manifolds("hydraulics_json_none");
  const auto json = hydraulics_json(story);
  EXPECT_TRUE(json["method"].is_null());
  EXPECT_FALSE(json["zones"][0]["computed"]);
  EXPECT_EQ(json["zones"][0]["relative_to"], "the median of the zone");
  EXPECT_THAT(json["zones"][0]["why_not"].get<std::string>(), HasSubstr("manifolds"));
}

}  // namespace
}  // namespace evendrip
