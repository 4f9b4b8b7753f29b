// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <limits>

#include "evendrip/maps/evaluation_sheet.hpp"
#include "example_field.hpp"

namespace evendrip {
namespace {

using example::make_example;

TEST(EvaluatedClass, FollowsTheThresholdsOfTheField) {
  MeasuredEmitter emitter;
  emitter.discharge_lph = 1;
  const Thresholds thresholds;
  EXPECT_EQ(evaluated_class(emitter, 0.7499, thresholds), "clogged");
  EXPECT_EQ(evaluated_class(emitter, 0.75, thresholds), "low");
  EXPECT_EQ(evaluated_class(emitter, 0.90, thresholds), "enough");
  EXPECT_EQ(evaluated_class(emitter, std::numeric_limits<double>::quiet_NaN(), thresholds),
            "not_counted");
}

TEST(EvaluatedClass, TellsNoWaterApartFromDamageByDigging) {
  MeasuredEmitter emitter;
  emitter.state = EmitterState::none;
  EXPECT_EQ(evaluated_class(emitter, 0, {}), "plugged");
  emitter.state = EmitterState::dug_damage;
  EXPECT_EQ(evaluated_class(emitter, 0, {}), "not_counted");
}

TEST(EvaluationMap, ShowsEveryEmitterInAZoneByARuleOfTheStyle) {
  const auto e = make_example();
  const std::vector<double> relative(e.survey.emitters.size(), 0.8);
  const Sheet map = evaluation_map(e.field, e.survey, relative, find_map_resources());
  const auto& points = std::get<PointsDrawing>(map.drawings.back());
  EXPECT_EQ(points.points.size(), e.survey.emitters.size());
  for (const std::string& name : points.classes) {
    const StyleRule* rule = rule_for(points.style, name);
    ASSERT_NE(rule, nullptr) << name;
    EXPECT_TRUE(rule->mark) << name;
  }
  EXPECT_GT(std::count(points.classes.begin(), points.classes.end(), "low"), 40);
  EXPECT_EQ(rule_for(points.style, "clogged")->title, "below 75 %");
  std::vector<std::string> labels;
  for (const Drawing& drawing : map.drawings) {
    const auto* shapes = std::get_if<ShapesDrawing>(&drawing);
    if (shapes != nullptr && labels.empty()) labels = shapes->labels;
  }
  EXPECT_EQ(labels, (std::vector<std::string>{"Z1", "Z2"}));
}

}  // namespace
}  // namespace evendrip
