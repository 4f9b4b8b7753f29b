// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/site_map.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

#include "evendrip/geo/line.hpp"
#include "evendrip/surface/discharge_map.hpp"

namespace evendrip {
namespace {

MultiPolygon rectangle(double x0, double y0, double x1, double y1) {
  return {{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, {}}};
}

Lateral lateral_of(int zone, Line line) {
  Lateral lateral;
  lateral.zone = zone;
  lateral.line = std::move(line);
  return lateral;
}

/// Two zones that share an edge, one with bent lines in all directions, one with parallel ones.
Field crooked_field() {
  Field field;
  field.scale_factor = 0.9996;
  field.zones.resize(3);
  field.zones[0].area = rectangle(500010, 4100010, 500060, 4100090);
  field.zones[1].area = rectangle(500060, 4100010, 500110, 4100070);
  field.zones[2].area = rectangle(500060, 4100070, 500110, 4100090);
  std::mt19937_64 random(5);
  std::uniform_real_distribution<double> u(0, 1);
  for (int i = 0; i < 25; ++i) {
    Line line;
    for (int k = 0; k < 4; ++k) line.push_back({500010 + 50 * u(random), 4100010 + 80 * u(random)});
    field.laterals.push_back(lateral_of(0, line));
  }
  for (double x = 500061; x < 500110; x += 1.52)
    field.laterals.push_back(lateral_of(1, {{x, 4100068}, {x + 0.4, 4100030}, {x, 4100012}}));
  return field;
}

struct Nearest {
  double distance_m = std::numeric_limits<double>::infinity();
  int lateral = -1;
  double station_m = 0;
};
Nearest brute(const Field& field, int zone, Point p) {
  Nearest best;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    if (field.laterals[i].zone != zone) continue;
    const Projection projection = project_onto(field.laterals[i].line, p);
    if (projection.distance_m < best.distance_m)
      best = {projection.distance_m, static_cast<int>(i), projection.station_m};
  }
  return best;
}

TEST(SiteMap, FindsTheNearestLateralOfTheZoneForEveryCell) {
  const Field field = crooked_field();
  const Grid grid{500000, 4100100, 0.7, 170, 150};
  const SiteMap map(field, grid);
  const Window window{3, 5, 140, 160};
  const std::vector<Site> sites = map.over(window);
  const std::vector<int> zones = zones_of_cells(field, grid, window);
  ASSERT_EQ(sites.size(), window.cells());
  std::size_t i = 0;
  for (int r = 0; r < window.rows; ++r) {
    for (int c = 0; c < window.columns; ++c, ++i) {
      const Site& site = sites[i];
      EXPECT_EQ(site.place, grid.centre(window.row + r, window.column + c));
      ASSERT_EQ(site.zone, zones[i]);
      const Nearest nearest = brute(field, site.zone, site.place);
      ASSERT_EQ(site.lateral < 0, nearest.lateral < 0);
      if (site.lateral < 0) continue;
      // Of two laterals that are equally near but for rounding either will do.
      const Projection own =
          project_onto(field.laterals[static_cast<std::size_t>(site.lateral)].line, site.place);
      EXPECT_NEAR(own.distance_m, nearest.distance_m, 1e-8);
      const Point foot = place_on_lateral(field, site.lateral, site.station_m);
      EXPECT_NEAR(distance_m(foot, site.place), own.distance_m, 1e-8);
    }
  }
}

TEST(SiteMap, CountsStationsOnTheGroundFromTheSupplyEnd) {
  Field field;
  field.scale_factor = 0.5;  // a metre of the grid is two on the ground
  field.zones.resize(1);
  field.zones[0].area = rectangle(0, 0, 40, 4);
  field.laterals = {lateral_of(0, {{30, 2}, {10, 2}})};
  const SiteMap map(field, {0, 4, 1, 40, 4});
  const std::vector<Site> sites = map.over({1, 0, 1, 40});
  EXPECT_DOUBLE_EQ(sites[35].station_m, 0);
  EXPECT_DOUBLE_EQ(sites[20].station_m, 19);
  EXPECT_DOUBLE_EQ(sites[2].station_m, 40);
}

TEST(SiteMap, GivesATieToTheLowerIndex) {
  Field field;
  field.zones.resize(1);
  field.zones[0].area = rectangle(0, 0, 8, 4);
  field.laterals = {lateral_of(0, {{0, 3}, {8, 3}}), lateral_of(0, {{0, 0}, {8, 0}})};
  const std::vector<Site> sites = SiteMap(field, {0, 4, 1, 8, 4}).over({2, 0, 1, 8});
  for (const Site& site : sites) EXPECT_EQ(site.lateral, 0) << site.place.x;
}

TEST(SiteMap, KnowsNoLateralOutsideTheZonesOrWhereThereIsNone) {
  const Field field = crooked_field();
  const SiteMap map(field, {500000, 4100100, 1, 120, 100});
  const std::vector<Site> sites = map.over({0, 0, 100, 120});
  EXPECT_EQ(sites[0].zone, -1);
  EXPECT_EQ(sites[0].lateral, -1);
  const Site& without = sites[20 * 120 + 80];
  EXPECT_EQ(without.zone, 2);
  EXPECT_EQ(without.lateral, -1);
  EXPECT_TRUE(map.over({0, 0, 0, 0}).empty());
}

TEST(SiteMap, DoesNotDependOnHowTheGridIsCutIntoWindows) {
  const Field field = crooked_field();
  const SiteMap map(field, {500000, 4100100, 0.9, 130, 110});
  const std::vector<Site> whole = map.over({0, 0, 110, 130});
  for (int row = 0; row < 110; row += 7) {
    const int rows = std::min(7, 110 - row);
    const std::vector<Site> part = map.over({row, 0, rows, 130});
    for (std::size_t i = 0; i < part.size(); ++i)
      EXPECT_EQ(part[i], whole[static_cast<std::size_t>(row) * 130 + i]);
  }
}

}  // namespace
}  // namespace evendrip
