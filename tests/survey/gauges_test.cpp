// SPDX-License-Identifier: Apache-2.0
#include "evendrip/survey/survey.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

Survey with_pressures(const std::string& table) {
  FieldFolder folder;
  folder.add("pressures = \"p.csv\"\n").file("p.csv", table);
  return read_survey(read_field(folder.write()), "");
}

Survey with_meter(const std::string& table) {
  FieldFolder folder;
  folder.add("meter = \"m.csv\"\n").file("m.csv", table);
  return read_survey(read_field(folder.write()), "");
}

TEST(Pressures, AreReadWithTheirPortAndAccuracy) {
  const Survey survey = with_pressures(
      "port,pressure_psi,gauge_accuracy_psi,running,zones_open,time\nP1,16,0.5,irrigating,Z1,08:"
      "30\n");
  ASSERT_EQ(survey.pressures.size(), 1U) << testing::all_text(survey.doubts);
  EXPECT_EQ(survey.pressures[0].port, 0);
  EXPECT_NEAR(survey.pressures[0].pressure_kpa, 16 * 6.894757, 1e-4);
  EXPECT_NEAR(survey.pressures[0].gauge_accuracy_kpa, 0.5 * 6.894757, 1e-5);
  EXPECT_EQ(survey.pressures[0].time, "08:30");
}

TEST(Pressures, OfUnknownPortsAreNamed) {
  const Survey survey = with_pressures("port,pressure_kpa\nP7,110\n");
  const Doubt doubt = entry(survey.doubts, "unknown_port");
  EXPECT_EQ(doubt.expected, "P1");
  EXPECT_TRUE(survey.pressures.empty());
}

TEST(Pressures, ThatAreMissingAreNamed) {
  EXPECT_EQ(count(with_pressures("port,pressure_kpa\nP1,\n").doubts, "pressure_missing"), 1);
}

TEST(Pressures, OfPsiWrittenAsKilopascalAreAProblem) {
  const Survey survey = with_pressures("port,pressure_kpa,time\nP1,16,1\nP1,15.5,2\n");
  EXPECT_EQ(entry(survey.doubts, "wrong_unit").severity, Severity::problem);
}

TEST(Pressures, BelowThatOfTheAirAreDoubtedButUsed) {
  const Survey survey = with_pressures("port,pressure_kpa\nP1,-4.2\n");
  EXPECT_EQ(entry(survey.doubts, "implausible_value").severity, Severity::doubt);
  ASSERT_EQ(survey.pressures.size(), 1U);
  EXPECT_DOUBLE_EQ(survey.pressures[0].pressure_kpa, -4.2);
}

TEST(Pressures, BelowAVacuumAreRefused) {
  const Survey survey = with_pressures("port,pressure_kpa\nP1,-120\n");
  EXPECT_EQ(entry(survey.doubts, "implausible_value").severity, Severity::problem);
}

TEST(Pressures, ReadTwiceInOneStateAreDoubted) {
  const Survey survey = with_pressures("port,pressure_kpa\nP1,110\nP1,112\n");
  EXPECT_EQ(entry(survey.doubts, "duplicate_reading").place.row, 3U);
}

TEST(Meter, ReadsAFlow) {
  const Survey survey = with_meter(
      "meter,zones,flow_m3_h,accuracy_pct,reference_flow_m3_h,reference_pressure_kpa\n"
      "W1,Z1,1.9,2,2.0,110\n");
  ASSERT_EQ(survey.meter.size(), 1U) << testing::all_text(survey.doubts);
  EXPECT_DOUBLE_EQ(survey.meter[0].flow_lph, 1900);
  EXPECT_DOUBLE_EQ(survey.meter[0].accuracy_frac, 0.02);
  EXPECT_DOUBLE_EQ(*survey.meter[0].reference_flow_lph, 2000);
  EXPECT_DOUBLE_EQ(*survey.meter[0].reference_pressure_kpa, 110);
  EXPECT_EQ(survey.meter[0].zones, std::vector<int>{0});
}

double register_flow(const std::string& start, const std::string& end, const std::string& unit) {
  const Survey survey =
      with_meter("meter,zones,start_reading,end_reading,reading_unit,duration_min\nW1,Z1," + start +
                 "," + end + "," + unit + ",30\n");
  return survey.meter.empty() ? -1 : survey.meter[0].flow_lph;
}

TEST(Meter, CountsCubicMetresBetweenRegisterReadings) {
  EXPECT_NEAR(register_flow("100.5", "101.5", "m3"), 2000, 1e-9);
}

TEST(Meter, CountsRegistersOfHundredGallons) {
  EXPECT_NEAR(register_flow("12", "15", "gal_x100"), 2 * 300 * 3.785411784, 1e-6);
}

TEST(Meter, CountsAcreInches) {
  // An acre-inch is 102.79 m3 (US survey acre over 12).
  EXPECT_NEAR(register_flow("1.00", "1.01", "acre_inch"), 2 * 1027.9, 0.1);
}

TEST(Meter, RefusesARegisterThatRunsBackOrStandsStillInTime) {
  EXPECT_DOUBLE_EQ(register_flow("101", "100", "m3"), -1);
  const Survey survey = with_meter(
      "meter,zones,start_reading,end_reading,reading_unit,duration_min\nW1,Z1,1,2,m3,0\n");
  EXPECT_EQ(entry(survey.doubts, "duration_zero").severity, Severity::problem);
}

TEST(Meter, NamesAnUnknownRegisterUnit) {
  const Survey survey = with_meter(
      "meter,zones,start_reading,end_reading,reading_unit,duration_min\nW1,Z1,1,2,buckets,30\n");
  EXPECT_EQ(entry(survey.doubts, "unknown_reading_unit").found, "buckets");
}

TEST(Meter, NamesUnknownAndMissingZones) {
  const Survey survey = with_meter("meter,zones,flow_m3_h\nW1,Z1 Z8,2\nW1,,2\n");
  EXPECT_EQ(entry(survey.doubts, "unknown_zone").found, "Z8");
  EXPECT_EQ(entry(survey.doubts, "zones_missing").place.row, 3U);
}

TEST(Meter, DoubtsAFlowFarFromTheRatedOne) {
  // 20 laterals of 100 emitters at 1 L/h: 2 m3/h.
  EXPECT_EQ(count(with_meter("meter,zones,flow_m3_h\nW1,Z1,2\n").doubts, "flow_far_from_rated"), 0);
  const Survey survey = with_meter("meter,zones,flow_m3_h\nW1,Z1,9\n");
  EXPECT_EQ(entry(survey.doubts, "flow_far_from_rated").expected, "about 2000 L/h");
}

TEST(Meter, DoubtsAReadingWhileLinesFill) {
  const Survey survey = with_meter("meter,zones,flow_m3_h,minutes_after_start\nW1,Z1,2,4\n");
  EXPECT_EQ(entry(survey.doubts, "lines_may_be_filling").found, "4 min");
}

TEST(Meter, DoubtsAFlowThatContradictsTheRegister) {
  const Survey survey = with_meter(
      "meter,zones,flow_m3_h,start_reading,end_reading,reading_unit,duration_min\n"
      "W1,Z1,1.5,1,2,m3,30\n");
  EXPECT_EQ(count(survey.doubts, "flow_contradicts_register"), 1);
  EXPECT_NEAR(survey.meter.at(0).flow_lph, 2000, 1e-9);
}

}  // namespace
}  // namespace evendrip
