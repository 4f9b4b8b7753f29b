// SPDX-License-Identifier: Apache-2.0
#include "evendrip/survey/survey.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

TEST(ReadSurvey, ReadsAPlainSurveyWithoutComplaint) {
  const Field field = read_field(FieldFolder().write());
  const Survey survey = read_survey(field, "spring");
  EXPECT_TRUE(survey.doubts.empty()) << testing::all_text(survey.doubts);
  EXPECT_EQ(survey.date, "2026-05-12");
  ASSERT_EQ(survey.emitters.size(), 1U);
  // 50 mL in 180 s is 1 L/h.
  EXPECT_DOUBLE_EQ(survey.emitters[0].discharge_lph, 1);
  EXPECT_EQ(survey.emitters[0].placement, Placement::declared);
}

TEST(ReadSurvey, ChoosesTheLatestWhereNoneIsNamed) {
  FieldFolder folder;
  folder.add("[[survey]]\nid = \"autumn\"\ndate = 2026-09-20\ncatch_cans = \"cans.csv\"\n");
  folder.add("[[survey]]\nid = \"before\"\ndate = 2025-09-20\ncatch_cans = \"cans.csv\"\n");
  const Field field = read_field(folder.write());
  EXPECT_EQ(read_survey(field, "").id, "autumn");
  EXPECT_EQ(read_survey(field, "before").id, "before");
}

TEST(ReadSurvey, ThrowsForASurveyThatIsNotThereAndNamesThoseThatAre) {
  const Field field = read_field(FieldFolder().write());
  try {
    read_survey(field, "winter");
    FAIL() << "nothing was thrown";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().front().code, "no_such_survey");
    EXPECT_EQ(error.problems().front().expected, "spring");
  }
}

TEST(ReadSurvey, ListsAllProblemsOfATableInTheOrderOfItsRows) {
  FieldFolder folder;
  folder.file("cans.csv",
              "record,lateral,station_m,volume_ml,duration_s\n"
              "A,L1,0.25,50,0\n"
              "B,L99,0.25,50,180\n"
              "C,L1,80,50,180\n"
              "D,L1,5.25,fifty,180\n");
  const Survey survey = read_survey(read_field(folder.write()), "");
  EXPECT_EQ(count(survey.doubts, "duration_zero"), 1);
  EXPECT_EQ(count(survey.doubts, "unknown_lateral"), 1);
  EXPECT_EQ(count(survey.doubts, "station_beyond_end"), 1);
  EXPECT_EQ(count(survey.doubts, "bad_number"), 1);
  for (std::size_t i = 1; i < survey.doubts.size(); ++i) {
    EXPECT_LE(survey.doubts[i - 1].place.row, survey.doubts[i].place.row);
  }
}

TEST(ReadSurvey, TellsAMissingColumnAndStillReadsTheOtherTables) {
  FieldFolder folder;
  folder.add("pressures = \"pressures.csv\"\n")
      .file("cans.csv", "record,lateral,station_m,volume_ml\nA,L1,0.25,50\n")
      .file("pressures.csv", "port,pressure_kpa\nP1,112\n");
  const Survey survey = read_survey(read_field(folder.write()), "");
  EXPECT_EQ(entry(survey.doubts, "missing_column").place.column, "duration_s");
  EXPECT_EQ(survey.pressures.size(), 1U);
}

TEST(ReadSurvey, DoubtsACommonShiftThatTheReceiverCannotExplain) {
  FieldFolder folder;
  folder.add("gps_accuracy = \"1 m\"\n");
  std::string cans = "record,lateral,station_m,easting_m,northing_m,volume_ml,duration_s\n";
  for (int i = 1; i <= 5; ++i) {
    const double x = testing::west + 10 + 10 * i * testing::utm_scale + 8;
    cans += fmt::format("R{0},L{0},{1},{2:.3f},{3:.3f},50,180\n", i, 10 * i - 1, x,
                        testing::south + 8 + 2 * i);
  }
  const Survey survey = read_survey(read_field(folder.file("cans.csv", cans).write()), "");
  EXPECT_EQ(survey.shift_records, 5);
  EXPECT_NEAR(survey.common_shift_m.x, 9, 0.01);
  EXPECT_EQ(entry(survey.doubts, "common_shift_large").severity, Severity::doubt);
}

}  // namespace
}  // namespace evendrip
