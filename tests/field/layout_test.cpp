// SPDX-License-Identifier: Apache-2.0
#include <cmath>

#include "evendrip/field/field.hpp"
#include "evendrip/geo/line.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;
using testing::south;
using testing::west;

Field laid_out(const std::string& keys) {
  FieldFolder folder;
  folder.change("field.toml", "laterals = \"laterals.geojson\"", "")
      .change("field.toml", "position_accuracy = \"0.1 m\"", "")
      .add("[lateral_layout]\n" + keys);
  return read_field(folder.write());
}

TEST(LateralLayout, FillsTheZoneWithLinesOfTheBearing) {
  const Field field = laid_out("bearing = 90\n");
  // 60 m of width, 2 m apart, the first one half a spacing inside.
  ASSERT_EQ(field.laterals.size(), 30U) << testing::all_text(field.doubts);
  EXPECT_EQ(field.laterals[0].id, "Z1-1");
  for (const Lateral& lateral : field.laterals) {
    EXPECT_NEAR(bearing_deg(lateral.line), 90, 1e-6);
    EXPECT_NEAR(lateral.length_m, 100 / testing::utm_scale, 1e-3);
  }
  EXPECT_EQ(field.zones.at(0).lateral.source, "laid_out");
  EXPECT_EQ(count(field.doubts, "laterals_laid_out"), 1);
}

TEST(LateralLayout, KnowsPlacesNoBetterThanItsSpacing) {
  // Standard deviation of a uniform spread over one spacing: 2 m / sqrt(12).
  const Field field = laid_out("bearing = 90\n");
  EXPECT_NEAR(field.zones.at(0).lateral.position_accuracy_m, 2 / std::sqrt(12.0), 1e-12);
}

TEST(LateralLayout, LeadsAwayFromTheSupplySide) {
  EXPECT_NEAR(bearing_deg(laid_out("bearing = 90\nsupply_side = \"east\"\n").laterals.at(0).line),
              270, 1e-6);
  EXPECT_NEAR(bearing_deg(laid_out("bearing = 90\nsupply_side = \"west\"\n").laterals.at(0).line),
              90, 1e-6);
}

TEST(LateralLayout, RefusesASideThatTheLinesDoNotFace) {
  const Field field = laid_out("bearing = 90\nsupply_side = \"north\"\n");
  EXPECT_EQ(entry(field.doubts, "side_along_laterals").severity, Severity::problem);
}

TEST(LateralLayout, TakesItsOwnSpacing) {
  EXPECT_EQ(laid_out("bearing = \"90 deg\"\nspacing = \"3 m\"\n").laterals.size(), 20U);
}

TEST(LateralLayout, NeedsABearing) {
  const Field field = laid_out("spacing = \"3 m\"\n");
  EXPECT_EQ(entry(field.doubts, "missing_key").place.column, "bearing");
  EXPECT_TRUE(field.laterals.empty());
}

TEST(LateralLayout, CountsFromTrueNorthOnRequest) {
  // On the central meridian true and grid north agree; a field 2 degrees of longitude east of it
  // has a convergence near 2 deg x sin(37.9 deg) = 1.2 deg (first term of the series).
  FieldFolder folder;
  const double east = 676'000;
  folder.change("field.toml", "laterals = \"laterals.geojson\"", "")
      .change("field.toml", "manifolds = \"manifolds.geojson\"", "")
      .change("field.toml", "ports = \"ports.geojson\"", "")
      .file("zones.geojson",
            FieldFolder::layer(FieldFolder::polygon("Z1", east, south, east + 100, south + 60)))
      .add("[lateral_layout]\nbearing = 90\nnorth = \"true\"\n");
  const Field field = read_field(folder.write());
  ASSERT_FALSE(field.laterals.empty()) << testing::all_text(field.doubts);
  EXPECT_NEAR(std::abs(bearing_deg(field.laterals[0].line) - 90), 1.23, 0.02);
  // East of the central meridian true north lies west of grid north, so true east lies north of
  // grid east.
  EXPECT_LT(bearing_deg(field.laterals[0].line), 90);
}

TEST(LateralLayout, IsNotUsedWhereALayerHasTheLaterals) {
  FieldFolder folder;
  folder.add("[lateral_layout]\nbearing = 0\n");
  EXPECT_EQ(read_field(folder.write()).laterals.at(0).id, "L1");
}

}  // namespace
}  // namespace evendrip
