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
using testing::west;

Survey surveyed(const std::string& cans, const std::string& survey_keys = "") {
  return read_survey(read_field(FieldFolder().file("cans.csv", cans).add(survey_keys).write()), "");
}

Point lonlat(double x, double y) {
  return Transform(parse_crs("EPSG:32614"), wgs84())({x, y});
}

std::string row(const std::string& name, double lat, double lon) {
  return fmt::format("{},{:.9f},{:.9f},50,180\n", name, lat, lon);
}
const std::string heading = "record,lat,lon,volume_ml,duration_s\n";

TEST(Fixes, AreBroughtToTheFieldsCrs) {
  const Point p = lonlat(west + 30, south + 20);
  const Survey survey = surveyed(heading + row("A", p.y, p.x));
  ASSERT_TRUE(survey.records.at(0).fix) << testing::all_text(survey.doubts);
  EXPECT_NEAR(survey.records[0].fix->x, west + 30, 1e-3);
  EXPECT_NEAR(survey.records[0].fix->y, south + 20, 1e-3);
  EXPECT_DOUBLE_EQ(survey.records[0].fix_accuracy_m, 3);
}

TEST(Fixes, OfAnotherDatumStayWithinAFewMetres) {
  const Point p = lonlat(west + 30, south + 20);
  for (const char* datum : {"NAD83(2011)", "ITRF2014"}) {
    const Survey survey =
        surveyed(heading + row("A", p.y, p.x), fmt::format("gps_datum = \"{}\"\n", datum));
    ASSERT_EQ(survey.records.size(), 1U) << testing::all_text(survey.doubts);
    ASSERT_TRUE(survey.records[0].fix) << datum;
    EXPECT_NEAR(survey.records[0].fix->x, west + 30, 3) << datum;
    EXPECT_NEAR(survey.records[0].fix->y, south + 20, 3) << datum;
  }
}

TEST(Fixes, WithSwappedLatitudeAndLongitudeAreOneProblem) {
  const Point p = lonlat(west + 30, south + 20);
  const Point q = lonlat(west + 50, south + 24);
  const Survey survey = surveyed(heading + row("A", p.x, p.y) + row("B", q.x, q.y));
  EXPECT_EQ(count(survey.doubts, "swapped_lat_lon"), 1);
  const Doubt doubt = entry(survey.doubts, "swapped_lat_lon");
  EXPECT_EQ(doubt.severity, Severity::problem);
  EXPECT_NE(doubt.text.find("2 rows"), std::string::npos);
  EXPECT_EQ(count(survey.doubts, "fix_far_away"), 0);
}

TEST(Fixes, FarFromTheFieldOrNotOnEarthAreNamedByRow) {
  const Point p = lonlat(west + 30, south + 20);
  const Survey survey =
      surveyed(heading + row("A", p.y, p.x) + row("B", p.y + 1, p.x) + row("C", 137.0, 200.0));
  EXPECT_EQ(entry(survey.doubts, "fix_far_away").place.row, 3U);
  EXPECT_EQ(entry(survey.doubts, "not_lat_lon").place.row, 4U);
}

TEST(Fixes, NeedBothCells) {
  const Survey survey = surveyed(heading + "A,37.9,,50,180\n");
  EXPECT_EQ(entry(survey.doubts, "half_a_fix").place.column, "lon");
}

TEST(Fixes, NeedAPositiveAccuracy) {
  const Point p = lonlat(west + 30, south + 20);
  const Survey survey = surveyed(fmt::format(
      "record,lat,lon,gps_accuracy_m,volume_ml,duration_s\nA,{:.9f},{:.9f},0,50,180\n", p.y, p.x));
  EXPECT_EQ(entry(survey.doubts, "accuracy_not_positive").severity, Severity::problem);
}

TEST(Fixes, OnTheGridMustLieNearTheField) {
  const Survey survey =
      surveyed("record,easting_m,northing_m,volume_ml,duration_s\nA,4200020,500030,50,180\n");
  EXPECT_EQ(entry(survey.doubts, "fix_far_away").severity, Severity::problem);
}

}  // namespace
}  // namespace evendrip
