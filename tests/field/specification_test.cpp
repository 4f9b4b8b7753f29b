// SPDX-License-Identifier: Apache-2.0
#include <cmath>

#include "evendrip/field/field.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;

Field changed(const std::string& from, const std::string& to) {
  return read_field(FieldFolder().change("field.toml", from, to).write());
}

TEST(Specification, TakesTheRatedFlowByLengthOfLateral) {
  const Field field = changed("\"1.0 L/h\"", "\"5 L/h/m\"");
  ASSERT_EQ(field.zones.size(), 1U);
  EXPECT_DOUBLE_EQ(field.zones[0].emitter.discharge_lph, 2.5) << testing::all_text(field.doubts);
}

TEST(Specification, TakesAmericanFlowByLength) {
  // 0.22 gal/min on 100 ft: 0.22 x 227.125 L/h over 30.48 m, on half a metre.
  const Field field = changed("\"1.0 L/h\"", "\"0.22 gpm/100ft\"");
  EXPECT_NEAR(field.zones.at(0).emitter.discharge_lph, 0.22 * 60 * 3.785411784 / 30.48 * 0.5, 1e-9);
}

TEST(Specification, TakesNumbersInKeysThatNameTheUnit) {
  const Field field = changed("spacing = \"0.5 m\"", "spacing_cm = 40");
  EXPECT_NEAR(field.zones.at(0).emitter.spacing_m, 0.4, 1e-12) << testing::all_text(field.doubts);
}

TEST(Specification, PutsTheFirstEmitterHalfASpacingInWhereNothingIsStated) {
  const Field field = changed("first_offset = \"0.25 m\"", "");
  EXPECT_DOUBLE_EQ(field.zones.at(0).emitter.first_offset_m, 0.25);
  EXPECT_EQ(entry(field.doubts, "first_offset_taken").severity, Severity::note);
}

TEST(Specification, RefusesAnExponentAboveOne) {
  const Field field = changed("first_offset", "exponent = 1.5\nfirst_offset");
  const Doubt doubt = entry(field.doubts, "out_of_range");
  EXPECT_EQ(doubt.place.column, "exponent");
  EXPECT_EQ(doubt.severity, Severity::problem);
}

TEST(Specification, RefusesACoefficientOfVariationInPercent) {
  const Field field = changed("first_offset", "manufacturing_cv = 4\nfirst_offset");
  EXPECT_EQ(entry(field.doubts, "out_of_range").expected, "0 to 1");
}

TEST(Specification, NamesPsiWrittenAsKilopascal) {
  const Field field = changed("\"100 kPa\"", "\"14.5 kPa\"");
  const Doubt doubt = entry(field.doubts, "wrong_unit");
  EXPECT_EQ(doubt.place.column, "pressure");
  EXPECT_NE(doubt.text.find("psi"), std::string::npos);
}

TEST(Specification, NamesInchesWrittenAsMillimetres) {
  const Field field = changed("\"16 mm\"", "\"0.63 mm\"");
  const Doubt doubt = entry(field.doubts, "wrong_unit");
  EXPECT_EQ(doubt.severity, Severity::problem);
  EXPECT_NE(doubt.remedy.find("in"), std::string::npos);
}

TEST(Specification, NamesMillilitresWrittenAsLitres) {
  const Field field = changed("\"1.0 L/h\"", "\"1000 L/h\"");
  const Doubt doubt = entry(field.doubts, "wrong_unit");
  EXPECT_NE(doubt.text.find("mL/h"), std::string::npos);
}

TEST(Specification, TellsAMissingValueOnce) {
  const Field field = changed("pressure = \"100 kPa\"", "");
  EXPECT_EQ(count(field.doubts, "missing_key"), 1);
  EXPECT_EQ(entry(field.doubts, "missing_key").place.column, "pressure");
}

TEST(Specification, RefusesZeroSpacing) {
  const Field field = changed("spacing = \"0.5 m\"", "spacing = \"0 m\"");
  EXPECT_TRUE(has_problem(field.doubts));
  EXPECT_EQ(field.laterals.at(0).emitters, 0);
}

TEST(Specification, ReadsTheCompensatingRange) {
  const Field field =
      changed("first_offset", "pressure_compensating = [\"70 kPa\", \"3 bar\"]\nfirst_offset");
  ASSERT_TRUE(field.zones.at(0).emitter.pressure_compensating_kpa);
  EXPECT_DOUBLE_EQ(field.zones[0].emitter.pressure_compensating_kpa->second, 300);
}

TEST(Specification, RefusesACompensatingRangeUpsideDown) {
  const Field field =
      changed("first_offset", "pressure_compensating = [\"3 bar\", \"70 kPa\"]\nfirst_offset");
  EXPECT_EQ(count(field.doubts, "bad_range"), 1);
}

TEST(Specification, RefusesTwoRoughnesses) {
  const Field field =
      changed("depth =", "roughness = \"0.0015 mm\"\nhazen_williams_c = 150\ndepth =");
  EXPECT_EQ(count(field.doubts, "two_roughnesses"), 1);
}

TEST(Specification, ReadsWallEndsYearAndSource) {
  const Field field = changed("depth =",
                              "wall_thickness = \"15 mil\"\nends = \"both_fed\"\ninstalled = 2017\n"
                              "source = \"drawing\"\ndepth =");
  EXPECT_TRUE(field.doubts.empty()) << testing::all_text(field.doubts);
  const LateralSpec& lateral = field.zones.at(0).lateral;
  EXPECT_NEAR(lateral.wall_thickness_mm, 0.381, 1e-9);
  EXPECT_EQ(lateral.ends, LateralEnds::both_fed);
  EXPECT_EQ(lateral.installed_year, 2017);
  EXPECT_EQ(lateral.source, "drawing");
}

TEST(Specification, TakesThePositionAccuracyFromTheSource) {
  FieldFolder drawing;
  drawing.change("field.toml", "position_accuracy = \"0.1 m\"", "source = \"drawing\"");
  EXPECT_DOUBLE_EQ(read_field(drawing.write()).zones.at(0).lateral.position_accuracy_m, 1.0);
}

TEST(Specification, NamesUnknownEnds) {
  const Field field = changed("depth =", "ends = \"open\"\ndepth =");
  EXPECT_EQ(entry(field.doubts, "unknown_ends").expected, "closed, flush_manifold or both_fed");
}

}  // namespace
}  // namespace evendrip
