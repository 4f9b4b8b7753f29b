// SPDX-License-Identifier: Apache-2.0
#include "../../src/field/zone_tables.hpp"

#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;
using testing::south;
using testing::west;

TEST(ZoneTables, LetsAZoneTableOverrideTheDefaults) {
  FieldFolder folder;
  folder.file(
      "zones.geojson",
      FieldFolder::layer(FieldFolder::polygon("Z1", west, south, west + 100, south + 60) + "," +
                         FieldFolder::polygon("Z2", west + 100, south, west + 200, south + 60)));
  folder.add(
      "[[zone]]\nid = \"Z2\"\nemitter_spacing = \"12 in\"\nlateral_spacing = \"1 m\"\n"
      "discharge = \"0.5 gph\"\nends = \"flush_manifold\"\n");
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.zones.size(), 2U) << testing::all_text(field.doubts);
  EXPECT_DOUBLE_EQ(field.zones[0].emitter.spacing_m, 0.5);
  EXPECT_NEAR(field.zones[1].emitter.spacing_m, 0.3048, 1e-12);
  EXPECT_NEAR(field.zones[1].emitter.discharge_lph, 0.5 * 3.785411784, 1e-9);
  EXPECT_DOUBLE_EQ(field.zones[1].lateral.spacing_m, 1);
  EXPECT_EQ(field.zones[1].lateral.ends, LateralEnds::flush_manifold);
  EXPECT_EQ(field.zones[0].lateral.ends, LateralEnds::closed);
}

TEST(ZoneTables, RefusesABareSpacingInAZone) {
  const Field field =
      read_field(FieldFolder()
                     .change("field.toml", "inlet_pressure", "spacing = \"1 m\"\ninlet_pressure")
                     .write());
  EXPECT_EQ(entry(field.doubts, "ambiguous_key").expected, "emitter_spacing or lateral_spacing");
  EXPECT_EQ(count(field.doubts, "unknown_key"), 0);
}

TEST(ZoneTables, NamesAZoneTableWithoutAPolygon) {
  const Field field = read_field(FieldFolder().add("[[zone]]\nid = \"Z9\"\n").write());
  const Doubt doubt = entry(field.doubts, "unknown_zone");
  EXPECT_EQ(doubt.found, "Z9");
  EXPECT_EQ(doubt.expected, "Z1");
}

TEST(ZoneTables, TellOnceForAllZonesWhatIsMissing) {
  FieldFolder folder;
  folder.file(
      "zones.geojson",
      FieldFolder::layer(FieldFolder::polygon("Z1", west, south, west + 100, south + 60) + "," +
                         FieldFolder::polygon("Z2", west + 100, south, west + 200, south + 60)));
  folder.change("field.toml", "first_offset", "# first_offset");
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.zones.size(), 2U) << testing::all_text(field.doubts);
  EXPECT_EQ(count(field.doubts, "first_offset_taken"), 1);
  EXPECT_EQ(count(field.doubts, "zone_without_table"), 1);
}

TEST(ZoneTables, RefuseTwoTablesOfOneZone) {
  const Field field = read_field(FieldFolder().add("[[zone]]\nid = \"Z1\"\n").write());
  EXPECT_EQ(entry(field.doubts, "id_twice").found, "Z1");
}

}  // namespace
}  // namespace evendrip
