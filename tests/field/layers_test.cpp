// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/field.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::FieldFolder;
using testing::south;
using testing::west;

Field with_layer(const std::string& name, const std::string& features) {
  FieldFolder folder;
  folder.file(name + ".geojson", FieldFolder::layer(features));
  if (name == "hazards") {
    folder.change("field.toml", "[layers]", "[layers]\nhazards = \"hazards.geojson\"");
  }
  return read_field(folder.write());
}

std::string square(const std::string& id, double x, double y, double side) {
  return FieldFolder::polygon(id, x, y, x + side, y + side);
}

TEST(Zones, OfOneIdAreOneZone) {
  const Field field = with_layer(
      "zones", square("Z1", west, south, 100) + "," + square("Z1", west + 200, south, 100));
  ASSERT_EQ(field.zones.size(), 1U) << testing::all_text(field.doubts);
  EXPECT_EQ(field.zones[0].area.size(), 2U);
  EXPECT_NEAR(area_m2(field.zones[0].area), 20'000, 1e-6);
}

TEST(Zones, ThatOverlapAreTold) {
  const Field field = with_layer(
      "zones", square("Z1", west, south, 100) + "," + square("Z2", west + 90, south, 100));
  EXPECT_EQ(entry(field.doubts, "zones_overlap").found, "1000 m2");
}

TEST(Zones, ThatShareAnEdgeAreFine) {
  const Field field = with_layer(
      "zones", square("Z1", west, south, 100) + "," + square("Z2", west + 100, south, 100));
  EXPECT_EQ(count(field.doubts, "zones_overlap"), 0);
}

TEST(Zones, ThatCrossThemselvesAreMendedAndTold) {
  const std::string bow =
      FieldFolder::feature(R"("id":"Z1")", "Polygon",
                           fmt::format("[[[{0},{1}],[{2},{3}],[{2},{1}],[{0},{3}],[{0},{1}]]]",
                                       west, south, west + 100, south + 60));
  const Field field = with_layer("zones", bow);
  EXPECT_EQ(entry(field.doubts, "outline_mended").place.row, 1U);
  EXPECT_NEAR(area_m2(field.zones.at(0).area), 3000, 1e-6);
}

TEST(Zones, WithoutIdsAreNumberedAndTold) {
  FieldFolder folder;
  folder.change("zones.geojson", R"("id":"Z1")", R"("crop":"maize")");
  const Field field = read_field(folder.write());
  EXPECT_EQ(field.zones.at(0).id, "Z1");
  const Doubt doubt = entry(field.doubts, "id_missing");
  EXPECT_EQ(doubt.severity, Severity::doubt);
  EXPECT_EQ(doubt.place.file, "zones.geojson");
}

TEST(Zones, MustBePolygons) {
  const Field field = with_layer("zones", FieldFolder::point(R"("id":"Z1")", west, south));
  EXPECT_EQ(entry(field.doubts, "wrong_shape").expected, "a polygon");
}

TEST(Attributes, AreReadWhateverTheCaseOfTheirNames) {
  FieldFolder folder;
  folder.change("zones.geojson", R"("id":"Z1")", R"("ID":"Z1")");
  EXPECT_EQ(read_field(folder.write()).zones.at(0).id, "Z1");
}

TEST(Manifolds, KeepZoneKindAndDiameterInAnyUnit) {
  const Field field = read_field(FieldFolder().write());
  ASSERT_EQ(field.manifolds.size(), 1U);
  EXPECT_EQ(field.manifolds[0].zone, 0);
  EXPECT_TRUE(field.manifolds[0].supply);
  EXPECT_NEAR(field.manifolds[0].inside_diameter_mm, 50.8, 1e-9);
}

TEST(Manifolds, OfUnknownKindOrZoneAreNamed) {
  const Field field = with_layer(
      "manifolds",
      FieldFolder::line(R"("id":"M1","zone":"Z7","kind":"main")", west, south, west, south + 50));
  EXPECT_EQ(entry(field.doubts, "unknown_zone").found, "Z7");
  EXPECT_EQ(entry(field.doubts, "unknown_manifold_kind").found, "main");
}

TEST(Ports, KeepKindZoneAndGaugeHeight) {
  const Field field = read_field(FieldFolder().write());
  ASSERT_EQ(field.ports.size(), 1U);
  EXPECT_EQ(field.ports[0].kind, "zone_inlet");
  EXPECT_EQ(field.ports[0].zones, std::vector<int>{0});
  EXPECT_DOUBLE_EQ(field.ports[0].gauge_height_m, 0.5);
}

TEST(Ports, MayServeSeveralZonesOrTakeTheirZoneFromTheirPlace) {
  FieldFolder folder;
  folder
      .file("zones.geojson", FieldFolder::layer(square("Z1", west, south, 100) + "," +
                                                square("Z2", west + 100, south, 100)))
      .file(
          "ports.geojson",
          FieldFolder::layer(
              FieldFolder::point(R"("id":"A","kind":"pump","zones":"Z1, Z2")", west - 20, south) +
              "," + FieldFolder::point(R"("id":"B","kind":"zone_inlet")", west + 150, south + 5)));
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.ports.size(), 2U) << testing::all_text(field.doubts);
  EXPECT_EQ(field.ports[0].zones, (std::vector<int>{0, 1}));
  EXPECT_EQ(field.ports[1].zones, std::vector<int>{1});
}

TEST(Ports, OfOneIdOrUnknownKindAreProblems) {
  const Field field =
      with_layer("ports", FieldFolder::point(R"("id":"A","kind":"pump")", west, south) + "," +
                              FieldFolder::point(R"("id":"A","kind":"tap")", west + 10, south));
  EXPECT_EQ(entry(field.doubts, "id_twice").place.row, 2U);
  EXPECT_EQ(entry(field.doubts, "unknown_port_kind").found, "tap");
}

TEST(Hazards, WithoutAClearanceKeepOneMetreAndSaySo) {
  const Field field = with_layer(
      "hazards",
      FieldFolder::line(R"("kind":"gas","clearance_ft":5)", west, south, west, south + 50) + "," +
          FieldFolder::line(R"("kind":"cable")", west, south, west + 50, south));
  ASSERT_EQ(field.hazards.size(), 2U) << testing::all_text(field.doubts);
  EXPECT_NEAR(field.hazards[0].clearance_m, 1.524, 1e-12);
  EXPECT_DOUBLE_EQ(field.hazards[1].clearance_m, 1);
  EXPECT_EQ(entry(field.doubts, "clearance_missing").place.row, 2U);
}

TEST(Observations, AreReadFromATableOfFixes) {
  const Point p = Transform(parse_crs("EPSG:32614"), wgs84())({west + 40, south + 30});
  FieldFolder folder;
  folder.change("field.toml", "ports = \"ports.geojson\"",
                "ports = \"ports.geojson\"\nobservations = \"seen.csv\"");
  folder.file("seen.csv", fmt::format("lat,lon,kind,note\n{0:.9f},{1:.9f},wet_spot,by the gate\n"
                                      "{0:.9f},{1:.9f},puddle,\n",
                                      p.y, p.x));
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.observations.size(), 2U) << testing::all_text(field.doubts);
  EXPECT_EQ(field.observations[0].kind, "wet_spot");
  EXPECT_EQ(field.observations[0].note, "by the gate");
  ASSERT_EQ(field.observations[0].points.size(), 1U);
  EXPECT_NEAR(field.observations[0].points[0].x, west + 40, 1e-3);
  EXPECT_EQ(entry(field.doubts, "unknown_observation_kind").found, "puddle");
}

TEST(Soil, JoinsThePolygonsOfOneNameAndRefusesOnesWithout) {
  const auto polygon = [](const std::string& attributes, double x) {
    return FieldFolder::feature(attributes, "Polygon",
                                fmt::format("[[[{0},{2}],[{1},{2}],[{1},{3}],[{0},{3}],[{0},{2}]]]",
                                            x, x + 10, south, south + 10));
  };
  FieldFolder folder;
  folder
      .change("field.toml", "ports = \"ports.geojson\"",
              "ports = \"ports.geojson\"\nsoil = \"soil.geojson\"")
      .file("soil.geojson", FieldFolder::layer(polygon(R"("soil":"loam")", west) + "," +
                                               polygon(R"("soil":"sand")", west + 10) + "," +
                                               polygon(R"("soil":"loam")", west + 20) + "," +
                                               polygon(R"("kind":"clay")", west + 30)));
  const Field field = read_field(folder.write());
  ASSERT_EQ(field.soil.size(), 2U) << testing::all_text(field.doubts);
  EXPECT_EQ(field.soil[0].name, "loam");
  EXPECT_NEAR(area_m2(field.soil[0].area), 200, 1e-3);
  EXPECT_EQ(entry(field.doubts, "soil_without_name").place.row, 4U);
}

}  // namespace
}  // namespace evendrip
