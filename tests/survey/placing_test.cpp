// SPDX-License-Identifier: Apache-2.0
#include <cmath>

#include "evendrip/survey/survey.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;
using testing::south;
using testing::utm_scale;
using testing::west;

const std::string heading =
    "record,lateral,station_m,emitter,easting_m,northing_m,gps_accuracy_m,volume_ml,duration_s\n";

/// Easting of a station and northing of lateral number `lateral`.
double east(double station_m) {
  return west + 10 + station_m * utm_scale;
}
double north(int lateral) {
  return south + 8 + 2.0 * lateral;
}

std::string by_fix(const std::string& record, double x, double y, double accuracy_m,
                   const std::string& place = ",,") {
  return fmt::format("{},{},{:.4f},{:.4f},{},50,180\n", record, place, x, y, accuracy_m);
}

Survey surveyed(const std::string& rows, const std::string& survey_keys = "") {
  return read_survey(
      read_field(FieldFolder().file("cans.csv", heading + rows).add(survey_keys).write()), "");
}

TEST(Placing, PutsACountedEmitterAtItsStation) {
  const Survey survey = surveyed("A,L3,,5,,,,50,180\n");
  ASSERT_EQ(survey.emitters.size(), 1U) << testing::all_text(survey.doubts);
  const Site& site = survey.emitters[0].site;
  EXPECT_EQ(site.lateral, 2);
  EXPECT_EQ(site.zone, 0);
  EXPECT_DOUBLE_EQ(site.station_m, 2.25);
  EXPECT_NEAR(site.place.x, east(2.25), 1e-4);
  EXPECT_NEAR(site.place.y, north(3), 1e-6);
}

TEST(Placing, PutsAPreciseFixOnItsLateral) {
  const Survey survey = surveyed(by_fix("A", east(20), north(7) + 0.05, 0.02));
  ASSERT_EQ(survey.emitters.size(), 1U);
  EXPECT_EQ(survey.emitters[0].placement, Placement::by_fix);
  EXPECT_EQ(survey.emitters[0].site.lateral, 6);
  EXPECT_NEAR(survey.emitters[0].site.station_m, 20, 1e-3);
  EXPECT_NEAR(survey.emitters[0].lateral_probability, 1, 1e-12);
  EXPECT_TRUE(survey.doubts.empty()) << testing::all_text(survey.doubts);
}

TEST(Placing, WeighsLateralsByTheGaussianOfTheirDistances) {
  const Survey survey = surveyed(by_fix("A", east(20), north(10), 0.9));
  // Laterals 2 m apart on both sides, of equal prior; those beyond 4 standard deviations are left
  // out. The limit of the field's scale factor is 4e-4 of the distances.
  const double variance = 0.9 * 0.9 + 0.1 * 0.1;
  const double ground = 2 / utm_scale;
  const double expected = 1 / (1 + 2 * std::exp(-ground * ground / (2 * variance)));
  ASSERT_EQ(survey.emitters.size(), 1U);
  EXPECT_NEAR(survey.emitters[0].lateral_probability, expected, 1e-4);
  EXPECT_LT(expected, 0.95);
  EXPECT_EQ(survey.emitters[0].placement, Placement::ambiguous);
}

TEST(Placing, LeavesAConsumerFixAmbiguousInItsZone) {
  const Survey survey = surveyed(by_fix("A", east(20), north(10) + 0.3, 3));
  ASSERT_EQ(survey.emitters.size(), 1U);
  const MeasuredEmitter& emitter = survey.emitters[0];
  EXPECT_EQ(emitter.placement, Placement::ambiguous);
  EXPECT_EQ(emitter.site.lateral, -1);
  EXPECT_EQ(emitter.site.zone, 0);
  EXPECT_DOUBLE_EQ(emitter.position_sd_m, 3);
  EXPECT_TRUE(emitter.usable());
  EXPECT_EQ(entry(survey.doubts, "ambiguous_place").severity, Severity::doubt);
}

TEST(Placing, BelievesTheDeclaredLateralAgainstAVagueFix) {
  // 2 m off with an error of 3 m: the neighbour is likelier by the fix alone.
  const Survey survey = surveyed(by_fix("A", east(20), north(11), 3, "L10,20,"));
  ASSERT_EQ(survey.emitters.size(), 1U);
  EXPECT_EQ(survey.emitters[0].placement, Placement::declared);
  EXPECT_EQ(survey.emitters[0].site.lateral, 9);
  // By hand: prior 0.98 on L10, the rest shared by the 12 others within 4 standard deviations.
  const double sd = std::hypot(3, 0.1);
  double others = 0;
  for (const int lateral : {5, 6, 7, 8, 9, 11, 12, 13, 14, 15, 16, 17}) {
    const double z = 2 * (lateral - 11) / utm_scale / sd;
    others += 0.02 / 12 * std::exp(-z * z / 2);
  }
  const double z = 2 / utm_scale / sd;
  const double declared = 0.98 * std::exp(-z * z / 2);
  EXPECT_NEAR(survey.emitters[0].lateral_probability, declared / (declared + others), 1e-6);
  EXPECT_TRUE(survey.doubts.empty()) << testing::all_text(survey.doubts);
}

TEST(Placing, BelievesAPreciseFixAgainstTheDeclaredLateralAndSaysSo) {
  const Survey survey = surveyed(by_fix("A", east(20), north(11), 0.02, "L10,20,"));
  ASSERT_EQ(survey.emitters.size(), 1U);
  EXPECT_EQ(survey.emitters[0].placement, Placement::by_fix);
  EXPECT_EQ(survey.emitters[0].site.lateral, 10);
  EXPECT_EQ(entry(survey.doubts, "fix_contradicts_place").severity, Severity::doubt);
}

TEST(Placing, ChoosesNeitherWhereAVagueFixContradictsTheDeclaredPlace) {
  const Survey survey = surveyed(by_fix("A", east(20), north(18), 3, "L2,20,"));
  EXPECT_EQ(count(survey.doubts, "fix_contradicts_place"), 1);
  ASSERT_EQ(survey.emitters.size(), 1U);
  EXPECT_EQ(survey.emitters[0].placement, Placement::ambiguous);
}

TEST(Placing, ChoosesNoStationWhereTheFixLiesElsewhereOnTheSameLateral) {
  const Survey survey = surveyed(by_fix("A", east(40), north(2), 0.05, "L2,10,"));
  EXPECT_EQ(count(survey.doubts, "fix_contradicts_place"), 1);
  ASSERT_EQ(survey.emitters.size(), 1U);
  EXPECT_EQ(survey.emitters[0].placement, Placement::ambiguous);
}

TEST(Placing, TakesTheStationFromTheFixWhereOnlyTheLateralIsDeclared) {
  const Survey survey = surveyed(by_fix("A", east(33), north(5) + 0.4, 1, "L5,,"));
  ASSERT_EQ(survey.emitters.size(), 1U);
  EXPECT_EQ(survey.emitters[0].placement, Placement::by_fix);
  EXPECT_EQ(survey.emitters[0].site.lateral, 4);
  EXPECT_NEAR(survey.emitters[0].site.station_m, 33, 1e-2);
}

TEST(Placing, CountsAPlaceOutsideEveryZoneNowhere) {
  const Survey survey = surveyed(by_fix("A", west - 60, south + 30, 1));
  ASSERT_EQ(survey.emitters.size(), 1U);
  EXPECT_EQ(survey.emitters[0].placement, Placement::outside);
  EXPECT_EQ(survey.emitters[0].site.zone, -1);
  EXPECT_FALSE(survey.emitters[0].usable());
  EXPECT_EQ(entry(survey.doubts, "outside_zones").place.row, 2U);
}

TEST(Placing, TakesTheDaysCommonShiftOffTheFixes) {
  std::string rows;
  for (int i = 1; i <= 5; ++i) {
    rows += by_fix(fmt::format("R{}", i), east(8.0 * i) + 1.4, north(3 * i) - 0.9, 0.2,
                   fmt::format("L{},{},", 3 * i, 8 * i));
  }
  rows += by_fix("X", east(30) + 1.4, north(8) - 0.9, 0.2);
  const Survey survey = surveyed(rows);
  EXPECT_EQ(survey.shift_records, 5);
  EXPECT_NEAR(survey.common_shift_m.x, 1.4, 1e-3);
  EXPECT_NEAR(survey.common_shift_m.y, -0.9, 1e-3);
  ASSERT_EQ(survey.emitters.size(), 6U);
  const MeasuredEmitter& emitter = survey.emitters[5];
  EXPECT_EQ(emitter.placement, Placement::by_fix);
  EXPECT_EQ(emitter.site.lateral, 7);
  EXPECT_NEAR(emitter.site.station_m, 30, 1e-2);
}

TEST(Placing, IsNotMisledByOneWrongDeclarationAmongFive) {
  std::string rows;
  for (int i = 1; i <= 5; ++i) {
    const int written = i == 4 ? 19 : 3 * i;
    rows += by_fix(fmt::format("R{}", i), east(8.0 * i) + 1.4, north(3 * i) - 0.9, 0.2,
                   fmt::format("L{},{},", written, 8 * i));
  }
  const Survey survey = surveyed(rows);
  EXPECT_NEAR(survey.common_shift_m.y, -0.9, 1e-3);
  EXPECT_EQ(count(survey.doubts, "fix_contradicts_place"), 1);
  EXPECT_EQ(entry(survey.doubts, "fix_contradicts_place").place.row, 5U);
}

TEST(Placing, EstimatesNoShiftFromTwoRecords) {
  const Survey survey = surveyed(by_fix("A", east(10) + 1, north(3), 1, "L3,10,") +
                                 by_fix("B", east(20) + 1, north(9), 1, "L9,20,"));
  EXPECT_EQ(survey.shift_records, 2);
  EXPECT_DOUBLE_EQ(survey.common_shift_m.x, 0);
}

TEST(Placing, DoesNotDependOnTheOrderOfRecords) {
  const std::string a = by_fix("A", east(10) + 0.3, north(3) + 0.1, 0.5, "L3,10,");
  const std::string b = by_fix("B", east(20) + 0.5, north(9) + 0.2, 0.5, "L9,20,");
  const std::string c = by_fix("C", east(30) + 0.4, north(12) - 0.1, 0.5, "L12,30,");
  const std::string d = by_fix("D", east(31), north(14) + 0.4, 0.5);
  const Survey one = surveyed(a + b + c + d);
  const Survey two = surveyed(d + c + b + a);
  ASSERT_EQ(one.emitters.size(), 4U);
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_EQ(one.emitters[i].site, two.emitters[3 - i].site);
    EXPECT_EQ(one.emitters[i].lateral_probability, two.emitters[3 - i].lateral_probability);
  }
}

TEST(Placing, LetsTheTapeStretchALittleBeyondTheEnd) {
  const Survey survey = surveyed("A,L3,50.4,,,,,50,180\n");
  EXPECT_TRUE(survey.doubts.empty()) << testing::all_text(survey.doubts);
  EXPECT_NEAR(survey.emitters.at(0).site.station_m, 50, 1e-4);
}

TEST(Placing, RefusesAStationBeyondTheEnd) {
  const Survey survey = surveyed("A,L3,51,,,,,50,180\n");
  const Doubt doubt = entry(survey.doubts, "station_beyond_end");
  EXPECT_EQ(doubt.severity, Severity::problem);
  EXPECT_EQ(doubt.place.row, 2U);
  EXPECT_EQ(doubt.place.column, "station_m");
  EXPECT_EQ(doubt.expected, "0 to 50.0 m");
  EXPECT_TRUE(survey.emitters.empty());
}

TEST(Placing, RefusesANegativeStation) {
  EXPECT_EQ(count(surveyed("A,L3,-1,,,,,50,180\n").doubts, "station_negative"), 1);
}

TEST(Placing, RefusesAnEmitterBeyondTheLast) {
  // 50 m, first at 0.25 m, every 0.5 m: 100 emitters.
  EXPECT_TRUE(surveyed("A,L3,,100,,,,50,180\n").doubts.empty());
  const Doubt doubt = entry(surveyed("A,L3,,101,,,,50,180\n").doubts, "emitter_beyond_end");
  EXPECT_EQ(doubt.expected, "1 to 100");
}

TEST(Placing, RefusesEmitterZeroAndHalfEmitters) {
  const Survey survey = surveyed("A,L3,,0,,,,50,180\nB,L4,,2.5,,,,50,180\n");
  EXPECT_EQ(count(survey.doubts, "not_a_count"), 2);
}

TEST(Placing, DoubtsAStationThatContradictsTheEmittersNumber) {
  const Survey survey = surveyed("A,L3,20,5,,,,50,180\n");
  EXPECT_EQ(entry(survey.doubts, "station_contradicts_emitter").severity, Severity::doubt);
  EXPECT_DOUBLE_EQ(survey.emitters.at(0).site.station_m, 20);
}

TEST(Placing, NamesAnUnknownLateral) {
  const Doubt doubt = entry(surveyed("A,L33,5,,,,,50,180\n").doubts, "unknown_lateral");
  EXPECT_EQ(doubt.found, "L33");
  EXPECT_EQ(doubt.severity, Severity::problem);
}

TEST(Placing, RefusesARecordWithoutAPlace) {
  const Survey survey = surveyed("A,,,,,,,50,180\nB,L2,,,,,,50,180\nC,,4,,,,,50,180\n");
  EXPECT_EQ(count(survey.doubts, "place_missing"), 2);
  EXPECT_EQ(count(survey.doubts, "lateral_missing"), 1);
  EXPECT_TRUE(survey.emitters.empty());
}

}  // namespace
}  // namespace evendrip
