// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/condition_why.hpp"

#include "conditioned_story.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace evendrip {
namespace {

TEST(WhatMoved, TellsEveryDugLateralOfTheJudgedZones) {
  const Story& story = test::shared_conditioned_story("condition_why_laterals");
  std::set<int> dug;
  for (const Sample& sample : story.surface.samples().samples)
    if (sample.site.zone == 0) dug.insert(sample.site.lateral);
  std::size_t laterals = 0;
  int holes = 0;
  for (const Moved& one : what_moved(story)) {
    if (one.finding) continue;
    ++laterals;
    holes += one.holes;
    EXPECT_EQ(one.zone, 0);
    EXPECT_NEAR(1 + one.parts.level + one.parts.station + one.parts.lateral + one.parts.group +
                    one.parts.local,
                one.performance, 1e-9);
    EXPECT_NEAR(one.parts.by_holes + one.parts.by_crop + one.parts.by_meter + one.parts.by_spread,
                one.performance - 1, 1e-9);
    EXPECT_NEAR(one.parts.by_meter, 0.05 * (one.performance - 1), 1e-9);
    EXPECT_NEAR(one.parts.by_crop, 0.4 * (one.performance - 1), 1e-9);
    EXPECT_NE(one.told.find("the holes moved"), std::string::npos);
  }
  EXPECT_EQ(laterals, dug.size());
  EXPECT_EQ(holes, static_cast<int>(test::holes_in(story, 0)));
}

/// A finding over the weak half of the weak laterals.
Finding weak_place(const Story& story) {
  const SegmentGrid& grid = story.condition.zones[0].grid;
  const auto corner = [&](int row, double station_m) {
    return place_on_lateral(story.field, grid.laterals[static_cast<std::size_t>(row)], station_m);
  };
  const double half_m = grid.step_m * (grid.stations() / 2);
  Finding finding;
  finding.id = "A1";
  finding.zone = 0;
  // Wider than the laterals themselves, but not so wide that it holds their neighbours.
  const Point a = corner(test::weak_first, half_m);
  const Point b = corner(test::weak_last, half_m);
  const double gap = distance_m(corner(0, 0), corner(1, 0));
  const double dx = 0.4 * gap * (b.x - a.x) / distance_m(a, b);
  const double dy = 0.4 * gap * (b.y - a.y) / distance_m(a, b);
  const Point c = corner(test::weak_last, 60);
  const Point d = corner(test::weak_first, 60);
  finding.outline = {
      {{{a.x - dx, a.y - dy}, {b.x + dx, b.y + dy}, {c.x + dx, c.y + dy}, {d.x - dx, d.y - dy}},
       {}}};
  return finding;
}

TEST(WhatMoved, TellsAFindingByThePartOfItsOwnPlace) {
  Story story = test::conditioned_story("condition_why_findings");
  story.findings.list = {weak_place(story)};
  const auto moved = what_moved(story);
  ASSERT_TRUE(moved.back().finding);
  const Moved& one = moved.back();
  EXPECT_EQ(one.place, "A1");
  const int stations = story.condition.zones[0].grid.stations();
  EXPECT_EQ(one.segments, (test::weak_last - test::weak_first + 1) * (stations - stations / 2));
  EXPECT_NEAR(one.parts.local, -0.32, 1e-9);
  EXPECT_NEAR(one.parts.network, 0, 1e-9);
  EXPECT_NE(one.told.find("-0.32 (this place)"), std::string::npos) << one.told;
}

TEST(WhatMoved, SaysNothingOfFindingsInZonesThatWereNotJudged) {
  Story story = test::conditioned_story("condition_why_not_judged");
  Finding finding = weak_place(story);
  finding.zone = 1;
  story.findings.list = {finding};
  for (const Moved& one : what_moved(story)) EXPECT_FALSE(one.finding);
}

TEST(WhatMoved, NamesThePluggedOnesAmongTheHoles) {
  const Story& story = test::shared_conditioned_story("condition_why_plugged");
  const auto moved = what_moved(story);
  const auto with = std::count_if(moved.begin(), moved.end(), [](const Moved& one) {
    return one.told.find("1.0 taken as plugged") != std::string::npos;
  });
  EXPECT_EQ(with, 1);
}

TEST(ConditionWhyLayer, HoldsOneRowForEachPlace) {
  const Story& story = test::shared_conditioned_story("condition_why_layer");
  const ResultLayer layer = condition_why_layer(story);
  EXPECT_EQ(layer.rows.size(), what_moved(story).size());
  for (const LayerRow& row : layer.rows) EXPECT_EQ(row.values.size(), layer.fields.size());
}

}  // namespace
}  // namespace evendrip
