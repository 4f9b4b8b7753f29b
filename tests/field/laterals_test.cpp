// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <random>
#include <utility>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/geo/line.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;
using testing::south;
using testing::west;

Field with_laterals(const std::string& features) {
  return read_field(FieldFolder().file("laterals.geojson", FieldFolder::layer(features)).write());
}

TEST(Laterals, HaveTheirLengthOnTheGroundAndCountTheirEmitters) {
  const Field field = read_field(FieldFolder().write());
  ASSERT_EQ(field.laterals.size(), 20U);
  EXPECT_NEAR(field.laterals[0].length_m, 50, 1e-4);
  // 0.25 m, 0.75 m ... 49.75 m.
  EXPECT_EQ(field.laterals[0].emitters, 100);
  EXPECT_EQ(field.laterals[0].zone, 0);
}

TEST(Laterals, StartAtTheSupplyManifoldWhicheverWayTheyAreDrawn) {
  const Field field = with_laterals(
      FieldFolder::line(R"("id":"L1","zone":"Z1")", west + 60, south + 10, west + 10, south + 10));
  EXPECT_NEAR(field.laterals.at(0).line.front().x, west + 10, 1e-6);
  EXPECT_EQ(count(field.doubts, "supply_end_not_told"), 0);
}

TEST(Laterals, EndAtAFlushManifoldWhereNoSupplyIsDrawn) {
  FieldFolder folder;
  folder.change("manifolds.geojson", "supply", "flush");
  const Field field = read_field(folder.write());
  EXPECT_NEAR(field.laterals.at(0).line.back().x, west + 10, 1e-6);
}

TEST(Laterals, ThatTouchNoManifoldAreTakenAsDrawnAndTold) {
  const Field field = with_laterals(
      FieldFolder::line(R"("id":"L1","zone":"Z1")", west + 60, south + 10, west + 20, south + 10));
  EXPECT_NEAR(field.laterals.at(0).line.front().x, west + 60, 1e-6);
  EXPECT_EQ(entry(field.doubts, "supply_end_not_told").found, "L1");
}

TEST(Laterals, TakeTheirZoneFromTheirPlaceWhereNoneIsNamed) {
  const Field field = with_laterals(
      FieldFolder::line(R"("id":"L1")", west + 10, south + 10, west + 60, south + 10));
  EXPECT_EQ(field.laterals.at(0).zone, 0);
}

TEST(Laterals, InNoZoneAreProblemsWithTheirFeature) {
  const Field field = with_laterals(
      FieldFolder::lateral("L1", south + 10) + "," +
      FieldFolder::line(R"("id":"L2")", west + 10, south - 30, west + 60, south - 30));
  const Doubt doubt = entry(field.doubts, "lateral_outside_zones");
  EXPECT_EQ(doubt.place.row, 2U);
  EXPECT_EQ(doubt.severity, Severity::problem);
}

TEST(Laterals, DeclaredInAZoneTheyDoNotTouchAreDoubted) {
  const Field field = with_laterals(FieldFolder::lateral("L1", south - 30));
  EXPECT_EQ(entry(field.doubts, "lateral_in_other_zone").severity, Severity::doubt);
}

TEST(Laterals, OfAnUnknownZoneAreNamed) {
  const Field field = with_laterals(
      FieldFolder::line(R"("id":"L1","zone":"Z9")", west + 10, south + 10, west + 60, south + 10));
  EXPECT_EQ(entry(field.doubts, "unknown_zone").found, "Z9");
}

TEST(Laterals, OfOneIdAreAProblem) {
  const Field field = with_laterals(FieldFolder::lateral("L1", south + 10) + "," +
                                    FieldFolder::lateral("L1", south + 12));
  EXPECT_EQ(entry(field.doubts, "id_twice").place.row, 2U);
}

TEST(Laterals, WithoutLengthAreAProblem) {
  const Field field = with_laterals(FieldFolder::lateral("L1", south + 10) + "," +
                                    FieldFolder::lateral("L2", south + 12, 0));
  const Doubt doubt = entry(field.doubts, "lateral_without_length");
  EXPECT_EQ(doubt.severity, Severity::problem);
  EXPECT_EQ(doubt.place.row, 2U);
  EXPECT_EQ(field.laterals.size(), 1U);
}

TEST(Laterals, ThatCrossAreTold) {
  const Field field = with_laterals(
      FieldFolder::lateral("L1", south + 10) + "," +
      FieldFolder::line(R"("id":"L2","zone":"Z1")", west + 10, south + 8, west + 60, south + 12));
  const Doubt doubt = entry(field.doubts, "laterals_cross");
  EXPECT_EQ(doubt.place.row, 2U);
  EXPECT_EQ(count(read_field(FieldFolder().write()).doubts, "laterals_cross"), 0);
}

TEST(Laterals, ThatCrossAreAllFound) {
  // Bent lines at random; every pair tried one by one is the oracle.
  std::mt19937 random(7);
  const auto within = [&random](double low, double high) {
    return low + (high - low) * static_cast<double>(random()) / 4294967295.0;
  };
  std::vector<Line> lines;
  std::string features;
  for (int i = 0; i < 40; ++i) {
    const Point start{within(west + 5, west + 80), within(south + 5, south + 55)};
    Line line{start};
    for (int k = 0; k < 2; ++k) {
      line.push_back({line.back().x + within(-15, 15), line.back().y + within(-15, 15)});
    }
    std::string coordinates;
    for (Point& p : line) {
      p = {std::round(p.x * 1000) / 1000, std::round(p.y * 1000) / 1000};
      coordinates += fmt::format("{}[{:.3f},{:.3f}]", coordinates.empty() ? "" : ",", p.x, p.y);
    }
    features +=
        (i > 0 ? "," : "") + FieldFolder::feature(fmt::format(R"("id":"L{}","zone":"Z1")", i),
                                                  "LineString", "[" + coordinates + "]");
    lines.push_back(std::move(line));
  }
  int expected = 0;
  for (std::size_t a = 0; a < lines.size(); ++a) {
    for (std::size_t b = a + 1; b < lines.size(); ++b) {
      if (crossing(lines[a], lines[b])) ++expected;
    }
  }
  EXPECT_GT(expected, 10);
  EXPECT_EQ(count(with_laterals(features).doubts, "laterals_cross"), expected);
}

TEST(Laterals, ThatCrossThemselvesAreTold) {
  const std::string loop =
      FieldFolder::feature(R"("id":"L1","zone":"Z1")", "LineString",
                           fmt::format("[[{0},{1}],[{2},{1}],[{2},{3}],[{4},{5}]]", west + 10,
                                       south + 10, west + 40, south + 20, west + 30, south + 5));
  EXPECT_EQ(entry(with_laterals(loop).doubts, "lateral_crosses_itself").place.row, 1U);
}

TEST(Laterals, ShorterThanTheirSpacingAreTold) {
  const Field field = with_laterals(FieldFolder::lateral("L1", south + 10, 1.5));
  EXPECT_EQ(entry(field.doubts, "lateral_too_short").severity, Severity::doubt);
}

TEST(Laterals, InPartsCountPartByPart) {
  const std::string parts =
      FieldFolder::feature(R"("id":"L1","zone":"Z1")", "MultiLineString",
                           fmt::format("[[[{0},{1}],[{2},{1}]],[[{3},{1}],[{4},{1}]]]", west + 10,
                                       south + 10, west + 30, west + 40, west + 60));
  const Field field = with_laterals(parts);
  ASSERT_EQ(field.laterals.size(), 2U);
  EXPECT_EQ(field.laterals[1].id, "L1.2");
  EXPECT_EQ(count(field.doubts, "lateral_in_parts"), 1);
}

}  // namespace
}  // namespace evendrip
