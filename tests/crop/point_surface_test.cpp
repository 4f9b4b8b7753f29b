// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/point_surface.hpp"

#include "evendrip/base/random.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

struct Cloud {
  std::vector<Point> places;
  std::vector<double> values;
};

Cloud invented_cloud(std::size_t n) {
  std::mt19937_64 stream = item_stream(41, {n});
  const auto unit = [&] { return static_cast<double>(stream() >> 11U) * 0x1.0p-53; };
  Cloud cloud;
  for (std::size_t i = 0; i < n; ++i) {
    const double x = 60 * unit() - 5;
    cloud.places.push_back({x, 40 * unit() - 5});
    cloud.values.push_back(2 + unit());
  }
  return cloud;
}

/// The stated rule, worked cell by cell over all points.
double by_brute_force(const Cloud& cloud, const Grid& grid, int row, int column, double reach_m) {
  double sum = 0;
  int held = 0;
  std::vector<std::pair<double, std::size_t>> near;
  const Point centre = grid.centre(row, column);
  for (std::size_t i = 0; i < cloud.places.size(); ++i) {
    if (cell_of(grid, cloud.places[i]) == Cell{row, column}) {
      sum += cloud.values[i];
      ++held;
    }
    const double d = distance_m(centre, cloud.places[i]);
    if (d <= reach_m) near.emplace_back(d, i);
  }
  if (held > 0) return sum / held;
  std::sort(near.begin(), near.end());
  if (near.size() > 8) near.resize(8);
  double weights = 0;
  for (const auto& [d, i] : near) {
    sum += cloud.values[i] / (d * d);
    weights += 1 / (d * d);
  }
  return weights > 0 ? sum / weights : std::nan("");
}

TEST(PointSurface, FollowsTheStatedRuleInEveryCell) {
  const Grid grid{0, 30, 2, 25, 15};
  const Cloud cloud = invented_cloud(120);
  const Raster surface = point_surface(cloud.places, cloud.values, grid, 4)->read({0, 0, 15, 25});
  int empty = 0;
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      const std::size_t i = grid.index(row, column);
      const double expected = by_brute_force(cloud, grid, row, column, 4);
      if (std::isnan(expected)) {
        EXPECT_EQ(surface.reasons[i], Reason::no_source);
        ++empty;
      } else {
        EXPECT_NEAR(surface.values[i], expected, 1e-6);
      }
    }
  }
  EXPECT_GT(empty, 0);
}

TEST(PointSurface, GivesTheSameValuesWindowByWindow) {
  const Grid grid{0, 30, 2, 25, 15};
  const Cloud cloud = invented_cloud(200);
  const auto reader = point_surface(cloud.places, cloud.values, grid, 5);
  const Raster whole = reader->read({0, 0, 15, 25});
  const Window window{4, 7, 6, 11};
  const Raster part = reader->read(window);
  ASSERT_EQ(part.values.size(), window.cells());
  for (int r = 0; r < window.rows; ++r) {
    for (int c = 0; c < window.columns; ++c) {
      const std::size_t i = static_cast<std::size_t>(r * window.columns + c);
      const std::size_t j = grid.index(window.row + r, window.column + c);
      EXPECT_EQ(part.reasons[i], whole.reasons[j]);
      if (part.has_value(i)) {
        EXPECT_EQ(part.values[i], whole.values[j]);
      }
    }
  }
}

TEST(PointSurface, DoesNotDependOnTheOrderOfThePoints) {
  const Grid grid{0, 30, 2, 25, 15};
  Cloud cloud = invented_cloud(300);
  const Raster before = point_surface(cloud.places, cloud.values, grid, 6)->read({0, 0, 15, 25});
  std::reverse(cloud.places.begin(), cloud.places.end());
  std::reverse(cloud.values.begin(), cloud.values.end());
  const Raster after = point_surface(cloud.places, cloud.values, grid, 6)->read({0, 0, 15, 25});
  for (std::size_t i = 0; i < before.values.size(); ++i) {
    EXPECT_EQ(before.reasons[i], after.reasons[i]);
    if (before.has_value(i)) {
      EXPECT_NEAR(before.values[i], after.values[i], 1e-6);
    }
  }
}

TEST(PointSurface, HasNoValueWithoutPoints) {
  const Grid grid{0, 4, 2, 2, 2};
  const Raster surface = point_surface({}, {}, grid, 6)->read({0, 0, 2, 2});
  for (const Reason reason : surface.reasons) EXPECT_EQ(reason, Reason::no_source);
}

}  // namespace
}  // namespace evendrip
