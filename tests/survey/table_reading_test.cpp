// SPDX-License-Identifier: Apache-2.0
#include "evendrip/survey/survey.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

Survey surveyed(const std::string& cans) {
  return read_survey(read_field(FieldFolder().file("cans.csv", cans).write()), "");
}

TEST(TableReading, NotesColumnsThatNothingReads) {
  const Survey survey =
      surveyed("record,lateral,station_m,volume_ml,duration_s,weather\nA,L1,0.25,50,180,dry\n");
  const Doubt doubt = entry(survey.doubts, "column_not_read");
  EXPECT_EQ(doubt.severity, Severity::note);
  EXPECT_EQ(doubt.found, "weather");
}

TEST(TableReading, NamesTextInANumberByRowAndColumn) {
  const Survey survey = surveyed(
      "record,lateral,station_m,volume_ml,duration_s\nA,L1,0.25,50,180\nB,L1,2.25,ca 50,180\n");
  const Doubt doubt = entry(survey.doubts, "bad_number");
  EXPECT_EQ(doubt.place.file, "cans.csv");
  EXPECT_EQ(doubt.place.row, 3U);
  EXPECT_EQ(doubt.place.column, "volume_ml");
  EXPECT_EQ(doubt.found, "ca 50");
}

TEST(TableReading, TellsAnEmptyTableAsAProblem) {
  const Survey survey = surveyed("");
  EXPECT_TRUE(has_problem(survey.doubts));
  EXPECT_TRUE(survey.records.empty());
}

}  // namespace
}  // namespace evendrip
