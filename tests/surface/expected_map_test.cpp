// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/expected_map.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

Field two_zones() {
  Field field;
  for (const int z : {0, 1}) {
    Zone zone;
    zone.id = z == 0 ? "west" : "east";
    zone.area = {{{{60.0 * z, 0}, {60.0 * (z + 1), 0}, {60.0 * (z + 1), 60}, {60.0 * z, 60}}, {}}};
    field.zones.push_back(zone);
  }
  return field;
}

const Grid grid{-3, 63, 1.5, 84, 44};

/// Known in the west alone.
std::optional<Expectation::Value> falling(Point place, int zone) {
  if (zone != 0) return std::nullopt;
  return Expectation::Value{100 - place.x / 10, 1 - place.x / 1000};
}

TEST(ExpectedMap, HoldsTheValueAtTheCentreOfEachCellAndSaysWhereNothingIsComputed) {
  const auto part = expected_over(two_zones(), grid, {0, 0, 44, 84}, falling, {});
  for (int r = 0; r < grid.rows; ++r)
    for (int c = 0; c < grid.columns; ++c) {
      const std::size_t i = grid.index(r, c);
      const Point p = grid.centre(r, c);
      const bool within = p.x > 0 && p.x < 120 && p.y > 0 && p.y < 60;
      const Reason reason = !within    ? Reason::outside_zones
                            : p.x > 60 ? Reason::not_computed
                                       : Reason::value;
      ASSERT_EQ(part.pressure_kpa.reasons[i], reason);
      ASSERT_EQ(part.discharge_lph.reasons[i], reason);
      if (reason != Reason::value) continue;
      EXPECT_FLOAT_EQ(part.pressure_kpa.values[i], static_cast<float>(100 - p.x / 10));
      EXPECT_FLOAT_EQ(part.discharge_lph.values[i], static_cast<float>(1 - p.x / 1000));
    }
}

TEST(ExpectedMap, DoesNotDependOnWindowsOrThreads) {
  Work three;
  three.threads = 3;
  const auto all = expected_over(two_zones(), grid, {0, 0, 44, 84}, falling, {});
  for (const Window& window : row_blocks(grid, 7)) {
    const auto part = expected_over(two_zones(), grid, window, falling, three);
    for (std::size_t i = 0; i < part.pressure_kpa.values.size(); ++i) {
      const std::size_t j = i + grid.index(window.row, 0);
      ASSERT_EQ(part.pressure_kpa.reasons[i], all.pressure_kpa.reasons[j]);
      if (part.pressure_kpa.has_value(i)) {
        EXPECT_EQ(part.pressure_kpa.values[i], all.pressure_kpa.values[j]);
      }
    }
  }
}

}  // namespace
}  // namespace evendrip
