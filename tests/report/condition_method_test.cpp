// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/condition_method.hpp"

#include "conditioned_story.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(ConditionMethod, TellsEachZoneByItsName) {
  const Story& story = test::shared_conditioned_story("condition_method");
  const std::string method = condition_method(story);
  for (const Zone& zone : story.field.zones)
    EXPECT_NE(method.find(" " + zone.id + ": "), std::string::npos) << method;
  EXPECT_NE(method.find("crop and gauges only, not verified"), std::string::npos);
}

TEST(FaultNames, CountThroughAllZones) {
  FieldCondition condition;
  condition.zones.resize(3);
  condition.zones[0].network.faults.resize(2);
  condition.zones[2].network.faults.resize(1);
  EXPECT_EQ(fault_name(condition, 0, 1), "F2");
  EXPECT_EQ(fault_name(condition, 2, 0), "F3");
}

TEST(FaultPlaces, LieOnTheirLine) {
  Story story = test::conditioned_story("condition_fault_places");
  Field& field = story.field;
  const Point on_lateral = fault_place(field, {FaultKind::pinch, true, 4, 20, 0.5});
  EXPECT_NEAR(distance_m(on_lateral, place_on_lateral(field, 4, 20)), 0, 1e-9);
  field.scale_factor = 0.5;
  const Manifold& manifold = field.manifolds.front();
  const Point on_manifold = fault_place(field, {FaultKind::shut, false, 0, 6, 0});
  EXPECT_NEAR(distance_m(on_manifold, manifold.line.front()), 3, 1e-6);
}

}  // namespace
}  // namespace evendrip
