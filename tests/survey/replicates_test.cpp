// SPDX-License-Identifier: Apache-2.0
#include <cmath>

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

const std::string numbered = "record,lateral,station_m,replicate,volume_ml,duration_s\n";
const std::string not_numbered = "record,lateral,station_m,volume_ml,duration_s\n";

TEST(Replicates, AreAveraged) {
  const Survey survey = surveyed(numbered + "A,L1,5.25,1,50,180\nB,L1,5.25,2,54,180\n");
  ASSERT_EQ(survey.emitters.size(), 1U) << testing::all_text(survey.doubts);
  EXPECT_EQ(survey.emitters[0].replicates, 2);
  EXPECT_EQ(survey.emitters[0].name, "A");
  EXPECT_DOUBLE_EQ(survey.emitters[0].discharge_lph, 1.04);
  EXPECT_TRUE(survey.doubts.empty()) << testing::all_text(survey.doubts);
}

TEST(Replicates, MeasureTheErrorOfMeasuring) {
  const Survey survey = surveyed(numbered +
                                 "A,L1,5.25,1,49,180\nB,L1,5.25,2,51,180\n"
                                 "C,L2,5.25,1,48,180\nD,L2,5.25,2,52,180\n");
  // By hand: relative deviations 0.02 and 0.04, each twice, over two degrees of freedom.
  EXPECT_NEAR(survey.replicate_cv, std::sqrt((2 * 0.02 * 0.02 + 2 * 0.04 * 0.04) / 2), 1e-12);
}

TEST(Replicates, OfOneNumberAreAProblem) {
  const Survey survey = surveyed(numbered + "A,L1,5.25,1,50,180\nB,L1,5.25,1,54,180\n");
  EXPECT_EQ(entry(survey.doubts, "duplicate_record").severity, Severity::problem);
  EXPECT_EQ(survey.emitters.at(0).replicates, 1);
}

TEST(Replicates, WithoutNumbersAreTakenAsSuchAndTold) {
  const Survey survey = surveyed(not_numbered + "A,L1,5.25,50,180\nB,L1,5.25,54,180\n");
  EXPECT_EQ(survey.emitters.at(0).replicates, 2);
  EXPECT_EQ(entry(survey.doubts, "places_repeated").severity, Severity::doubt);
}

TEST(Replicates, OfEqualValuesWithoutNumbersCountOnce) {
  const Survey survey = surveyed(not_numbered + "A,L1,5.25,50,180\nB,L1,5.25,50,180\n");
  EXPECT_EQ(survey.emitters.at(0).replicates, 1);
  EXPECT_EQ(entry(survey.doubts, "duplicate_record").place.row, 3U);
}

TEST(Replicates, OfDifferentStatesAreDoubted) {
  const Survey survey = surveyed(
      "record,lateral,station_m,replicate,volume_ml,duration_s,state\n"
      "A,L1,5.25,1,50,180,runs\nB,L1,5.25,2,5,180,drips\n");
  EXPECT_EQ(entry(survey.doubts, "states_differ").found, "drips");
}

TEST(Pits, SpreadEmittersOfOneStationByTheirSpacing) {
  const Survey survey = surveyed(
      "record,lateral,station_m,pit,place_in_pit,volume_ml,duration_s\n"
      "A,L1,5.25,K1,1,50,180\nB,L1,5.25,K1,2,48,180\nC,L1,5.25,K1,3,52,180\n");
  ASSERT_EQ(survey.emitters.size(), 3U) << testing::all_text(survey.doubts);
  EXPECT_DOUBLE_EQ(survey.emitters[0].site.station_m, 5.25);
  EXPECT_DOUBLE_EQ(survey.emitters[1].site.station_m, 5.75);
  EXPECT_DOUBLE_EQ(survey.emitters[2].site.station_m, 6.25);
}

TEST(Leaks, WithoutAVolumeCountInNoMean) {
  const Survey survey = surveyed(
      "record,lateral,station_m,volume_ml,duration_s,state\nA,L1,5.25,,,leak\nB,L2,5.25,50,180,\n");
  EXPECT_EQ(survey.emitters.size(), 1U);
  EXPECT_EQ(entry(survey.doubts, "leak_without_volume").severity, Severity::doubt);
}

}  // namespace
}  // namespace evendrip
