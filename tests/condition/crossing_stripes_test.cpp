// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/crossing_stripes.hpp"

#include <gtest/gtest.h>

#include <string>

#include "evendrip/geo/line.hpp"
#include "lined_zone.hpp"

namespace evendrip {
namespace {

/// The zone of lined_field and another beyond its far end, `aside_m` to the right.
Field two_zones(double aside_m) {
  Field field = test::lined_field();
  field.zones.push_back(field.zones[0]);
  for (Polygon& part : field.zones[1].area)
    for (Point& p : part.outer) p = {p.x + aside_m, p.y + 66};
  const std::size_t count = field.laterals.size();
  for (std::size_t i = 0; i < count; ++i) {
    Lateral other = field.laterals[i];
    other.zone = 1;
    for (Point& p : other.line) p = {p.x + aside_m, p.y + 66};
    field.laterals.push_back(other);
  }
  return field;
}

CropEvidence over_both(const test::Lows& first, const test::Lows& second, double aside_m,
                       std::uint64_t seed) {
  CropEvidence evidence = test::seen_again(first, seed, seed + 100);
  for (EvidenceDatum datum : test::seen_again(second, seed + 200, seed + 300).data) {
    datum.place = {datum.place.x + aside_m, datum.place.y + 66};
    evidence.data.push_back(datum);
  }
  return evidence;
}

std::vector<CrossingStripes> found(const Field& field, const CropEvidence& evidence) {
  const SegmentGrid grid = segment_grid(field, 0, 10);
  return crossing_stripes(field, grid, evidence, crop_data(field, grid, evidence, {}), {});
}

TEST(CrossingStripes, AreThoseThatBothZonesShow) {
  const Field field = two_zones(0);
  const CropEvidence evidence =
      over_both({{4, 0.2}, {11, 0.15}, {17, 0.2}}, {{4, 0.2}, {11, 0.15}}, 0, 1);
  const auto stripes = found(field, evidence);
  ASSERT_EQ(stripes.size(), 1U);
  EXPECT_EQ(stripes[0].zone, 1);
  EXPECT_EQ(stripes[0].laterals, 24);
  EXPECT_GT(stripes[0].correlation, 0.5);
  EXPECT_LT(stripes[0].common[4], -0.12);
  EXPECT_LT(stripes[0].common[11], -0.08);
  EXPECT_GT(stripes[0].common[17], -0.05);  // of this zone alone: it may be water
  const SegmentGrid grid = segment_grid(field, 0, 10);
  const auto pattern = pattern_of(stripes, field, grid, evidence);
  ASSERT_EQ(pattern.size(), evidence.data.size());
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    const Point place = evidence.data[i].place;
    const bool inside = place.y < 60;
    EXPECT_EQ(pattern[i], inside ? stripes[0].common[static_cast<std::size_t>(place.x / 1.5)] : 0);
  }
}

TEST(CrossingStripes, AreNotMadeOfFaultsThatLieApart) {
  int told = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed)
    told += found(two_zones(0), over_both({{4, 0.2}, {17, 0.2}}, {{9, 0.2}, {20, 0.2}}, 0, seed))
                    .empty()
                ? 0
                : 1;
  EXPECT_LE(told, 1);  // one in a hundred by chance
}

TEST(CrossingStripes, NeedLateralsThatGoOn) {
  // The other zone's laterals lie half a zone aside: too few go on.
  const CropEvidence evidence = over_both({{4, 0.2}, {11, 0.15}}, {{4, 0.2}, {11, 0.15}}, 24, 1);
  EXPECT_TRUE(found(two_zones(24), evidence).empty());
  EXPECT_TRUE(found(test::lined_field(), test::seen(true, 1)).empty());
}

TEST(CrossingStripes, AreFoundWhicheverWayTheLateralsRun) {
  Field field = two_zones(0);
  for (std::size_t i = 24; i < field.laterals.size(); ++i)
    field.laterals[i].line = reversed(field.laterals[i].line);
  const CropEvidence evidence = over_both({{4, 0.2}, {11, 0.15}}, {{4, 0.2}, {11, 0.15}}, 0, 1);
  EXPECT_EQ(found(field, evidence).size(), 1U);
}

}  // namespace
}  // namespace evendrip
