// SPDX-License-Identifier: Apache-2.0
#include "evendrip/repairs/visits.hpp"

#include "evendrip/geo/line.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string>

namespace evendrip {
namespace {

constexpr double west = 500'000;
constexpr double south = 4'400'000;

MultiPolygon rectangle(double x, double y, double width, double height) {
  x += west;
  y += south;
  return {Polygon{{{x, y}, {x + width, y}, {x + width, y + height}, {x, y + height}}, {}}};
}

/// One zone of 100 x 60 m, laterals 2 m apart that run north from the south edge.
Field one_zone() {
  Field field;
  field.crs = parse_crs("EPSG:32614");
  Zone zone;
  zone.id = "Z1";
  zone.area = rectangle(0, 0, 100, 60);
  zone.emitter.spacing_m = 0.5;
  zone.emitter.first_offset_m = 0.25;
  zone.lateral.spacing_m = 2;
  field.zones = {zone};
  for (int i = 0; i < 50; ++i) {
    Lateral lateral;
    lateral.id = "L" + std::to_string(i + 1);
    lateral.zone = 0;
    lateral.line = {{west + 1 + 2 * i, south}, {west + 1 + 2 * i, south + 60}};
    lateral.length_m = 60;
    lateral.emitters = 120;
    field.laterals.push_back(lateral);
  }
  return field;
}

Finding finding_at(const std::string& id, FindingKind kind, const MultiPolygon& outline,
                   double area_ha = 0.01) {
  Finding finding;
  finding.id = id;
  finding.kind = kind;
  finding.zone = 0;
  finding.outline = outline;
  finding.area_ha = area_ha;
  finding.label = label_point(outline);
  return finding;
}

Findings three_findings() {
  Findings findings;
  findings.list = {finding_at("A1", FindingKind::both_low, rectangle(80, 40, 10, 10)),
                   finding_at("A2", FindingKind::water_low, rectangle(10, 10, 10, 10)),
                   finding_at("A3", FindingKind::crop_low, rectangle(40, 20, 10, 10))};
  return findings;
}

TEST(PlanVisits, WalksFromTheCornerThroughAllFindings) {
  const VisitPlan plan = plan_visits(one_zone(), three_findings());
  ASSERT_EQ(plan.visits.size(), 3U);
  EXPECT_EQ(plan.visits[0].name, "R01A2");
  EXPECT_EQ(plan.visits[1].name, "R02A3");
  EXPECT_EQ(plan.visits[2].name, "R03A1");
  EXPECT_EQ(plan.left_out, 0);
  double grid_m = 0;
  for (std::size_t i = 1; i < 3; ++i) {
    grid_m += distance_m(plan.visits[i - 1].place, plan.visits[i].place);
  }
  EXPECT_NEAR(plan.walk_m, grid_m / 0.9996, 1e-3);  // UTM on its central meridian
}

TEST(PlanVisits, StandsAtAnEmitterOfALateralInsideTheFinding) {
  const Field field = one_zone();
  const Findings findings = three_findings();
  for (const Visit& visit : plan_visits(field, findings).visits) {
    const Finding& finding = findings.list[static_cast<std::size_t>(visit.finding)];
    ASSERT_GE(visit.lateral, 0);
    const Lateral& lateral = field.laterals[static_cast<std::size_t>(visit.lateral)];
    EXPECT_TRUE(contains(finding.outline, visit.place));
    EXPECT_NEAR(project_onto(lateral.line, visit.place).distance_m, 0, 1e-6);
    EXPECT_LE(distance_m(visit.place, finding.label), 1.5);
    const double step = (visit.station_m - 0.25) / 0.5;
    EXPECT_NEAR(step, std::round(step), 1e-9);
    const int emitter = static_cast<int>(std::lround(step)) + 1;
    EXPECT_NE(visit.task.find("emitter " + std::to_string(emitter) + " of lateral " + lateral.id),
              std::string::npos)
        << visit.task;
    const Point expected = place_on_lateral(field, visit.lateral, visit.station_m);
    EXPECT_NEAR(distance_m(expected, visit.place), 0, 1e-9);
  }
}

TEST(PlanVisits, StandsAtTheLabelWhereNoLateralRunsThroughTheFinding) {
  Findings findings;
  findings.list = {finding_at("A1", FindingKind::both_low, rectangle(10.2, 10, 0.6, 20))};
  const VisitPlan plan = plan_visits(one_zone(), findings);
  EXPECT_EQ(plan.visits[0].lateral, -1);
  EXPECT_EQ(plan.visits[0].place, findings.list[0].label);
}

TEST(PlanVisits, CountsStationsOnTheGround) {
  Field field = one_zone();
  field.scale_factor = 0.9;
  Findings findings;
  findings.list = {finding_at("A1", FindingKind::both_low, rectangle(20, 44.5, 4, 1))};
  const VisitPlan plan = plan_visits(field, findings);
  EXPECT_NEAR(plan.visits[0].station_m, 45 / 0.9, 0.3);
  EXPECT_TRUE(contains(findings.list[0].outline, plan.visits[0].place));
}

TEST(PlanVisits, WarnsOfBuriedLinesPressureAndHandDigging) {
  for (const Visit& visit : plan_visits(one_zone(), three_findings()).visits) {
    for (const char* word : {"located", "pressure", "by hand", "Local codes", "chemicals"}) {
      EXPECT_NE(visit.caution.find(word), std::string::npos) << word;
    }
    EXPECT_EQ(visit.caution.find("DO NOT DIG"), std::string::npos);
  }
}

TEST(PlanVisits, ForbidsDiggingWhereNoEmitterKeepsClearOfAHazard) {
  Field field = one_zone();
  Hazard cable;
  cable.kind = "power cable";
  cable.clearance_m = 8;
  cable.lines = {{{west + 15, south}, {west + 15, south + 60}}};
  Hazard pit;
  pit.kind = "chemical pit";
  pit.area = rectangle(35, 15, 20, 20);
  field.hazards = {cable, pit};
  const VisitPlan plan = plan_visits(field, three_findings());
  EXPECT_NE(plan.visits[0].caution.find("DO NOT DIG HERE"), std::string::npos);
  EXPECT_NE(plan.visits[0].caution.find("power cable"), std::string::npos);
  EXPECT_NE(plan.visits[1].caution.find("chemical pit"), std::string::npos);
  EXPECT_EQ(plan.visits[2].caution.find("DO NOT DIG"), std::string::npos);
}

TEST(PlanVisits, StandsAtTheNearestEmitterThatKeepsClearOfAHazard) {
  Field field = one_zone();
  Hazard cable;
  cable.kind = "power cable";
  cable.clearance_m = 3;
  cable.lines = {{{west + 13, south}, {west + 13, south + 60}}};
  field.hazards = {cable};
  Findings findings;
  findings.list = {finding_at("A1", FindingKind::both_low, rectangle(10, 10, 10, 10))};
  const Visit visit = plan_visits(field, findings).visits[0];
  EXPECT_EQ(field.laterals[static_cast<std::size_t>(visit.lateral)].id, "L9");  // 17 m east
  EXPECT_NEAR(visit.place.x, west + 17, 1e-9);
  EXPECT_NEAR(visit.place.y, findings.list[0].label.y, 0.5);
  EXPECT_EQ(visit.caution.find("DO NOT DIG"), std::string::npos);
}

TEST(PlanVisits, ChoosesTheMostUrgentWhereThereAreTooMany) {
  Findings findings;
  for (int i = 0; i < 120; ++i) {
    const FindingKind kind = i < 20 ? FindingKind::crop_low : FindingKind::both_low;
    findings.list.push_back(finding_at("A" + std::to_string(i + 1), kind,
                                       rectangle(2 * (i % 12), 4 * (i / 12), 1.5, 1), 0.001 * i));
  }
  const VisitPlan plan = plan_visits(one_zone(), findings);
  ASSERT_EQ(plan.visits.size(), 99U);
  EXPECT_EQ(plan.left_out, 21);
  std::set<std::string> names;
  for (const Visit& visit : plan.visits) {
    EXPECT_LE(visit.name.size(), 6U);
    names.insert(visit.name);
    EXPECT_EQ(findings.list[static_cast<std::size_t>(visit.finding)].kind, FindingKind::both_low);
  }
  EXPECT_EQ(names.size(), 99U);
}

TEST(PlanVisits, PlansNothingForNoFindings) {
  const VisitPlan plan = plan_visits(one_zone(), {});
  EXPECT_TRUE(plan.visits.empty());
  EXPECT_EQ(plan.walk_m, 0);
  EXPECT_TRUE(waypoints(one_zone(), {}, plan).empty());
}

TEST(WalkStart, IsTheMostUpstreamPortElseTheManifoldElseTheCorner) {
  Field field = one_zone();
  EXPECT_EQ(walk_start(field), (Point{west, south}));
  Manifold flush;
  flush.supply = false;
  flush.line = {{1, 1}, {2, 2}};
  Manifold supply;
  supply.line = {{west + 3, south - 1}, {west + 90, south - 1}};
  field.manifolds = {flush, supply};
  EXPECT_EQ(walk_start(field), (Point{west + 3, south - 1}));
  Port inlet;
  inlet.kind = "zone_inlet";
  inlet.place = {west + 50, south - 2};
  Port valve;
  valve.kind = "valve_in";
  valve.place = {west + 49, south - 3};
  field.ports = {inlet, valve};
  EXPECT_EQ(walk_start(field), valve.place);
}

TEST(Waypoints, StandAtTheVisitsInLongitudeAndLatitude) {
  const Field field = one_zone();
  const Findings findings = three_findings();
  const VisitPlan plan = plan_visits(field, findings);
  const std::vector<Waypoint> points = waypoints(field, findings, plan);
  ASSERT_EQ(points.size(), plan.visits.size());
  const Transform to_field(wgs84(), field.crs);
  for (std::size_t i = 0; i < points.size(); ++i) {
    EXPECT_NEAR(distance_m(to_field(points[i].lonlat), plan.visits[i].place), 0, 1e-4);
    EXPECT_EQ(points[i].name, plan.visits[i].name);
    EXPECT_NE(points[i].description.find(plan.visits[i].task), std::string::npos);
    EXPECT_NE(points[i].description.find(plan.visits[i].caution), std::string::npos);
  }
  EXPECT_EQ(points[2].kind, "water and crop low");
}

}  // namespace
}  // namespace evendrip
