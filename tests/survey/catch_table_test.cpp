// SPDX-License-Identifier: Apache-2.0
#include <cmath>

#include "evendrip/survey/survey.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

Survey surveyed(const std::string& cans, const std::string& survey_keys = "") {
  return read_survey(read_field(FieldFolder().file("cans.csv", cans).add(survey_keys).write()), "");
}

const std::string heading = "record,lateral,station_m,volume_ml,duration_s\n";

TEST(CatchTable, TurnsOtherUnitsIntoOurs) {
  const Survey survey =
      surveyed("record,lateral,station_ft,volume_fl_oz,duration_min\nA,L1,10,1.69070113509,3\n");
  ASSERT_EQ(survey.records.size(), 1U) << testing::all_text(survey.doubts);
  EXPECT_NEAR(*survey.records[0].station_m, 3.048, 1e-12);
  EXPECT_NEAR(survey.records[0].volume_ml, 50, 1e-6);
  EXPECT_NEAR(survey.records[0].discharge_lph, 1, 1e-7);
}

TEST(CatchTable, CountsGramsAsMillilitres) {
  const Survey survey = surveyed("record,lateral,station_m,mass_g,duration_s\nA,L1,0.25,50,180\n");
  ASSERT_EQ(survey.emitters.size(), 1U) << testing::all_text(survey.doubts);
  EXPECT_DOUBLE_EQ(survey.emitters[0].discharge_lph, 1);
}

TEST(CatchTable, ReadsTheTimeToFillACan) {
  const Survey survey =
      surveyed("record,lateral,station_m,volume_ml,fill_time_s\nA,L1,0.25,100,360\n");
  ASSERT_EQ(survey.emitters.size(), 1U) << testing::all_text(survey.doubts);
  EXPECT_DOUBLE_EQ(survey.emitters[0].discharge_lph, 1);
}

TEST(CatchTable, KeepsPitStateSeenAndNote) {
  const Survey survey = surveyed(
      "record,lateral,station_m,volume_ml,duration_s,pit,place_in_pit,state,seen,note\n"
      "A,L1,0.25,20,180,K1,1,drips,grit,by the gate\n");
  ASSERT_EQ(survey.records.size(), 1U);
  EXPECT_TRUE(survey.doubts.empty()) << testing::all_text(survey.doubts);
  EXPECT_EQ(survey.records[0].pit, "K1");
  EXPECT_EQ(survey.records[0].state, EmitterState::drips);
  EXPECT_EQ(survey.records[0].seen, "grit");
  EXPECT_EQ(survey.records[0].note, "by the gate");
  EXPECT_EQ(survey.emitters[0].pit, "K1");
}

TEST(CatchTable, NamesAnUnknownStateWithItsRow) {
  const Survey survey =
      surveyed("record,lateral,station_m,volume_ml,duration_s,state\nA,L1,0.25,50,180,clogged\n");
  const Doubt doubt = entry(survey.doubts, "unknown_state");
  EXPECT_EQ(doubt.place.row, 2U);
  EXPECT_EQ(doubt.found, "clogged");
}

TEST(CatchTable, TakesNoVolumeAsZeroOnlyWhereNothingCame) {
  const Survey survey = surveyed(
      "record,lateral,station_m,volume_ml,duration_s,state\n"
      "A,L1,0.25,,,none\nB,L2,0.25,,180,runs\nC,L3,0.25,,,dug_damage\n");
  EXPECT_EQ(count(survey.doubts, "volume_missing"), 1);
  EXPECT_EQ(entry(survey.doubts, "volume_missing").place.row, 3U);
  ASSERT_EQ(survey.emitters.size(), 2U);
  EXPECT_DOUBLE_EQ(survey.emitters[0].discharge_lph, 0);
  EXPECT_TRUE(survey.emitters[0].usable());
  EXPECT_FALSE(survey.emitters[1].usable());
}

TEST(CatchTable, DoubtsWaterWhereTheStateSaysNone) {
  const Survey survey =
      surveyed("record,lateral,station_m,volume_ml,duration_s,state\nA,L1,0.25,50,180,none\n");
  EXPECT_EQ(entry(survey.doubts, "state_contradicts_volume").severity, Severity::doubt);
}

TEST(CatchTable, RefusesNegativeVolumes) {
  const Survey survey = surveyed(heading + "A,L1,0.25,-5,180\n");
  EXPECT_EQ(entry(survey.doubts, "volume_negative").severity, Severity::problem);
}

TEST(CatchTable, RefusesZeroAndMissingDurations) {
  const Survey survey = surveyed(heading + "A,L1,0.25,50,0\nB,L2,0.25,50,\n");
  EXPECT_EQ(count(survey.doubts, "duration_zero"), 2);
}

TEST(CatchTable, NamesAnImpossibleVolumeByItsRow) {
  const Survey survey =
      surveyed(heading + "A,L1,0.25,50,180\nB,L2,0.25,48,180\nC,L3,0.25,200,180\n");
  const Doubt doubt = entry(survey.doubts, "impossible_volume");
  EXPECT_EQ(doubt.place.row, 4U);
  EXPECT_EQ(doubt.place.column, "volume_ml");
  EXPECT_EQ(count(survey.doubts, "impossible_volume"), 1);
}

TEST(CatchTable, LetsALeakGiveMore) {
  const Survey survey =
      surveyed("record,lateral,station_m,volume_ml,duration_s,state\nA,L1,0.25,900,180,leak\n");
  EXPECT_EQ(count(survey.doubts, "impossible_volume"), 0);
}

TEST(CatchTable, NamesLitresWrittenAsMillilitresOnceForTheColumn) {
  const Survey survey =
      surveyed(heading + "A,L1,0.25,0.050,180\nB,L2,0.25,0.048,180\nC,L3,0.25,0.051,180\n");
  EXPECT_EQ(count(survey.doubts, "wrong_unit"), 1);
  const Doubt doubt = entry(survey.doubts, "wrong_unit");
  EXPECT_EQ(doubt.severity, Severity::problem);
  EXPECT_NE(doubt.text.find("litres were written where the heading says mL"), std::string::npos);
}

TEST(CatchTable, NamesMillilitresWrittenAsLitres) {
  const Survey survey = surveyed(
      "record,lateral,station_m,volume_l,duration_s\nA,L1,0.25,50,180\nB,L2,0.25,48,180\n"
      "C,L3,0.25,51,180\n");
  EXPECT_EQ(count(survey.doubts, "wrong_unit"), 1);
  EXPECT_NE(entry(survey.doubts, "wrong_unit").text.find("mL were written"), std::string::npos);
}

TEST(CatchTable, NamesMinutesWrittenAsSeconds) {
  const Survey survey = surveyed(heading + "A,L1,0.25,50,3\nB,L2,0.25,48,3\nC,L3,0.25,51,3\n");
  EXPECT_NE(entry(survey.doubts, "wrong_unit").text.find("minutes were written"),
            std::string::npos);
}

TEST(CatchTable, NamesPsiWrittenAsKilopascalOnceForTheColumn) {
  const Survey survey = surveyed(
      "record,lateral,station_m,volume_ml,duration_s,pressure_kpa\n"
      "A,L1,0.25,50,180,15.5\nB,L2,0.25,48,180,15\nC,L3,0.25,51,180,14.8\n");
  EXPECT_EQ(count(survey.doubts, "wrong_unit"), 1);
  const Doubt doubt = entry(survey.doubts, "wrong_unit");
  EXPECT_EQ(doubt.place.column, "pressure_kpa");
  EXPECT_EQ(doubt.severity, Severity::problem);
}

TEST(CatchTable, OnlyDoubtsOneLowPressureAmongSoundOnes) {
  const Survey survey = surveyed(
      "record,lateral,station_m,volume_ml,duration_s,pressure_kpa\n"
      "A,L1,0.25,50,180,105\nB,L2,0.25,48,180,101\nC,L3,0.25,21,180,15\n");
  EXPECT_FALSE(has_problem(survey.doubts)) << testing::all_text(survey.doubts);
  EXPECT_EQ(entry(survey.doubts, "wrong_unit").place.row, 4U);
}

TEST(CatchTable, NamesFahrenheitWrittenAsCelsius) {
  const Survey survey =
      surveyed("record,lateral,station_m,volume_ml,duration_s,water_temp_c\nA,L1,0.25,50,180,61\n");
  EXPECT_EQ(count(survey.doubts, "wrong_unit"), 1) << testing::all_text(survey.doubts);
}

TEST(CatchTable, NotesAGraduationAboveTwoPercentOfTheCatch) {
  const std::string cans = heading + "A,L1,0.25,50,180\nB,L2,0.25,251,900\n";
  const Survey survey = surveyed(cans, "volume_graduation = \"5 mL\"\n");
  const Doubt doubt = entry(survey.doubts, "graduation_coarse");
  EXPECT_EQ(doubt.severity, Severity::note);
  EXPECT_EQ(doubt.place.row, 2U);
  EXPECT_NE(doubt.text.find("1 of 2"), std::string::npos);
  EXPECT_EQ(count(surveyed(cans, "volume_graduation = \"1 mL\"\n").doubts, "graduation_coarse"), 0);
}

TEST(CatchTable, RefusesOneNameForTwoRecords) {
  const Survey survey = surveyed(heading + "A,L1,0.25,50,180\nA,L2,0.25,50,180\n");
  EXPECT_EQ(entry(survey.doubts, "record_twice").place.row, 3U);
}

TEST(CatchTable, ReadsForeignHeadingsByTheColumnsSection) {
  FieldFolder folder;
  folder.file("cans.csv", "Dug;Line;Tape_m;Catch;Secs\nA;L1;0,25;50,5;180\n")
      .add(
          "[columns]\nDug = \"record\"\nLine = \"lateral\"\nTape_m = \"station_m\"\n"
          "Catch = \"volume_ml\"\nSecs = \"duration_s\"\n");
  const Survey survey = read_survey(read_field(folder.write()), "");
  ASSERT_EQ(survey.emitters.size(), 1U) << testing::all_text(survey.doubts);
  EXPECT_NEAR(survey.emitters[0].discharge_lph, 1.01, 1e-12);
}

}  // namespace
}  // namespace evendrip
