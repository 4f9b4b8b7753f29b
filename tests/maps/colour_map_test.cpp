// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <limits>

#include "evendrip/maps/style.hpp"

namespace evendrip {
namespace {

ColourMap ramp() {
  ColourMap map;
  map.stops = {{0, {0, 0, 0, 1}, "low"}, {1, {1, 0.5, 0, 1}, ""}, {3, {1, 1, 1, 0}, ""}};
  return map;
}

TEST(ColourMap, InterpolatesBetweenStopsAndHoldsTheEnds) {
  const ColourMap map = ramp();
  EXPECT_DOUBLE_EQ(map.at(0.5).red, 0.5);
  EXPECT_DOUBLE_EQ(map.at(0.5).green, 0.25);
  EXPECT_DOUBLE_EQ(map.at(2).alpha, 0.5);
  EXPECT_DOUBLE_EQ(map.at(-9).red, 0);
  EXPECT_DOUBLE_EQ(map.at(9).blue, 1);
  EXPECT_DOUBLE_EQ(map.at(1).green, 0.5);
}

TEST(ColourMap, ClassesDoNotBlend) {
  ColourMap map = ramp();
  map.classes = true;
  map.stops[0].value = -std::numeric_limits<double>::infinity();
  EXPECT_DOUBLE_EQ(map.at(0.999).red, 0);
  EXPECT_DOUBLE_EQ(map.at(1).green, 0.5);
  EXPECT_DOUBLE_EQ(map.at(2.999).green, 0.5);
  EXPECT_DOUBLE_EQ(map.at(3).green, 1);
}

TEST(ColourMap, WithoutStopsIsTransparent) {
  EXPECT_DOUBLE_EQ(ColourMap{}.at(1).alpha, 0);
}

TEST(Rescaled, StretchesStopsToTheLimitsAndDropsTheirLabels) {
  Style style;
  style.colour_map = ramp();
  style.colour_map->stops[2].value = 2;
  const Style stretched = rescaled(style, 10, 14);
  EXPECT_DOUBLE_EQ(stretched.colour_map->stops[0].value, 10);
  EXPECT_DOUBLE_EQ(stretched.colour_map->stops[1].value, 14);
  EXPECT_DOUBLE_EQ(stretched.colour_map->stops[2].value, 18);
  EXPECT_TRUE(stretched.colour_map->stops[0].label.empty());
}

TEST(RuleFor, PrefersTheClassThenTheRuleForAll) {
  Style style;
  StyleRule wet;
  wet.property = "class";
  wet.equals = "wet";
  style.rules = {wet};
  EXPECT_EQ(rule_for(style, "dry"), nullptr);
  style.rules.insert(style.rules.begin(), StyleRule{});
  EXPECT_EQ(rule_for(style, "wet"), &style.rules[1]);
  EXPECT_EQ(rule_for(style, "dry"), &style.rules[0]);
}

}  // namespace
}  // namespace evendrip
