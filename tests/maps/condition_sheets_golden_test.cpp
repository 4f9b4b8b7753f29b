// SPDX-License-Identifier: Apache-2.0
// Sheets of the condition at a small size against kept pictures.
#include <gtest/gtest.h>

#include "golden_picture.hpp"
#include "made_condition_maps.hpp"

namespace evendrip {
namespace {

constexpr double dots_per_inch = 50;

void expect_golden(const Sheet& sheet, const std::string& name) {
  const auto file = example::output("golden_" + name + ".png");
  draw_png(sheet, find_map_resources(), file, dots_per_inch);
  golden::expect_same_picture(file, name);
}

TEST(GoldenConditionSheets, Delivery) {
  auto e = example::make_example();
  const auto made = example::make_condition(e);
  expect_golden(delivery_sheet(e.field, e.survey, made.delivery, made.p_low, made.lower, made.upper,
                               made.faults, e.context, find_map_resources()),
                "condition_delivery");
}

TEST(GoldenConditionSheets, Parts) {
  auto e = example::make_example();
  const auto made = example::make_condition(e);
  expect_golden(parts_sheet(e.field, e.survey, made.parts, e.context, find_map_resources()),
                "condition_parts");
}

}  // namespace
}  // namespace evendrip
