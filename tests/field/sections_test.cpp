// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "evendrip/field/field.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

Field with(const std::string& toml) {
  FieldFolder folder;
  folder.add(toml).file("yield.csv", "lat,lon,yield_t_ha\n37,-99,9\n");
  return read_field(folder.write());
}

TEST(SurveySection, ReadsEveryKey) {
  const Field field = with(
      "gps_accuracy = \"6 ft\"\ngps_datum = \"NAD83(2011)\"\nvolume_graduation = \"5 mL\"\n"
      "water_temperature = \"61 F\"\n");
  EXPECT_TRUE(field.doubts.empty()) << testing::all_text(field.doubts);
  const SurveySource& survey = field.surveys.at(0);
  EXPECT_NEAR(survey.gps_accuracy_m, 1.8288, 1e-12);
  EXPECT_EQ(survey.gps_datum, "NAD83(2011)");
  EXPECT_DOUBLE_EQ(survey.volume_graduation_ml, 5);
  EXPECT_NEAR(survey.water_temperature_c, 16.1111, 1e-4);
  EXPECT_TRUE(survey.water_temperature_stated);
}

TEST(SurveySection, NamesAnUnknownDatum) {
  EXPECT_EQ(entry(with("gps_datum = \"NAD27\"\n").doubts, "unknown_datum").found, "NAD27");
}

TEST(SurveySection, NeedsATable) {
  FieldFolder folder;
  folder.change("field.toml", "catch_cans = \"cans.csv\"", "");
  EXPECT_EQ(count(read_field(folder.write()).doubts, "survey_without_tables"), 1);
}

TEST(SurveySection, DoubtsAMissingDate) {
  FieldFolder folder;
  folder.change("field.toml", "date = 2026-05-12", "");
  EXPECT_EQ(entry(read_field(folder.write()).doubts, "date_missing").severity, Severity::doubt);
}

TEST(SurveySection, RefusesOneIdForTwoSurveys) {
  const Field field =
      with("[[survey]]\nid = \"spring\"\ndate = 2026-06-12\ncatch_cans = \"cans.csv\"\n");
  EXPECT_EQ(count(field.doubts, "id_twice"), 1);
}

TEST(SurveySection, NamesAMissingFile) {
  FieldFolder folder;
  folder.remove("cans.csv");
  const Doubt doubt = entry(read_field(folder.write()).doubts, "missing_file");
  EXPECT_NE(doubt.text.find("[[survey]] catch_cans"), std::string::npos);
}

TEST(ThresholdsSection, ReplacesDefaults) {
  const Field field = with("[thresholds]\nlow_below = 0.85\n");
  EXPECT_DOUBLE_EQ(field.thresholds.low_below, 0.85);
  EXPECT_DOUBLE_EQ(field.thresholds.clogged_below, 0.75);
}

TEST(ThresholdsSection, RefusesPercentAndDoubtsSwappedThresholds) {
  const Field field = with("[thresholds]\nlow_below = 85\n");
  EXPECT_EQ(count(field.doubts, "out_of_range"), 1);
  EXPECT_EQ(count(with("[thresholds]\nclogged_below = 0.95\n").doubts, "thresholds_swapped"), 1);
}

TEST(ThresholdsSection, AcceptsRatingClassesAndSaysThatNothingReadsThem) {
  const Field field = with("[thresholds]\nrating_classes = [\"90 %\", \"80 %\", 0.7]\n");
  EXPECT_TRUE(field.doubts.empty()) << testing::all_text(field.doubts);
  EXPECT_EQ(std::count(field.not_computed.begin(), field.not_computed.end(),
                       "[thresholds] rating_classes is read by no part of this version"),
            1);
}

TEST(AnalysisSection, ReadsEveryKey) {
  const Field field = with(
      "[analysis]\ncell = \"50 cm\"\nmethod = \"inverse_distance\"\nneighbours = 12\n"
      "smallest_area = \"30 m2\"\n");
  EXPECT_TRUE(field.doubts.empty()) << testing::all_text(field.doubts);
  EXPECT_DOUBLE_EQ(field.analysis.cell_m, 0.5);
  EXPECT_EQ(field.analysis.method, SurfaceMethod::inverse_distance);
  EXPECT_EQ(field.analysis.neighbours, 12);
  EXPECT_NEAR(field.analysis.smallest_area_m2, 30, 1e-9);
}

TEST(AnalysisSection, NamesAnUnknownMethod) {
  EXPECT_EQ(entry(with("[analysis]\nmethod = \"spline\"\n").doubts, "unknown_method").expected,
            "automatic, kriging or inverse_distance");
}

}  // namespace
}  // namespace evendrip
