// SPDX-License-Identifier: Apache-2.0
// Tables that a GeoPackage must have: OGC 12-128r17, clauses 1.1.1, 2.3, F.3, F.8 and F.9, from
// memory.
#include <cmath>
#include <cstdlib>
#include <limits>

#include <fmt/format.h>
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include "evendrip/io/results.hpp"
#include "evendrip/io/vector.hpp"
#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::bytes_of;
using test::code_of;
using test::fresh_folder;
using ::testing::HasSubstr;

std::vector<ResultLayer> layers() {
  using Type = LayerField::Type;
  ResultLayer areas;
  areas.name = "low_areas";
  areas.description = "where plants miss water";
  areas.shape = ResultLayer::Shape::polygon;
  areas.fields = {{"delivery", Type::number, "share of the clean discharge, 0 to 1"},
                  {"emitters", Type::integer, "emitters inside"},
                  {"cause", Type::text, "the likeliest"}};
  const Polygon ring{{{500000, 4300000}, {500010, 4300000}, {500010, 4300010}, {500000, 4300010}},
                     {{{500002, 4300002}, {500004, 4300002}, {500004, 4300004}}}};
  areas.rows = {{MultiPolygon{ring}, {0.5, 12LL, std::string("it's clogged")}},
                {std::monostate{}, {std::nan(""), std::monostate{}, std::monostate{}}}};
  ResultLayer table;
  table.name = "uniformity";
  table.description = "figures by zone";
  table.fields = {{"zone", Type::text, ""}, {"du_lq", Type::number, "0 to 1"}};
  table.rows = {{std::monostate{}, {std::string("Z1"), 0.81}}};
  ResultLayer lines;
  lines.name = "laterals";
  lines.description = "laterals";
  lines.shape = ResultLayer::Shape::line;
  lines.rows = {{Line{{500000, 4300000}, {500100, 4300000}}, {}}};
  return {areas, table, lines};
}

/// First column of the first row of a query.
std::string answer(const fs::path& file, const std::string& query) {
  const GDALDatasetUniquePtr dataset(
      GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
  OGRLayer* rows = dataset->ExecuteSQL(query.c_str(), nullptr, nullptr);
  if (rows == nullptr) return "no result";
  const OGRFeatureUniquePtr row(rows->GetNextFeature());
  const std::string text = row ? row->GetFieldAsString(0) : "no row";
  dataset->ReleaseResultSet(rows);
  return text;
}

TEST(GeoPackage, ReadsBackShapesValuesAndMissingValues) {
  const fs::path file = fresh_folder() / "results.gpkg";
  write_geopackage(file, parse_crs("EPSG:32614"), layers(), {{"seed", "7"}});
  const VectorLayer areas = read_vector({file, "low_areas", "results.gpkg"});
  EXPECT_EQ(areas.crs.code, "EPSG:32614");
  ASSERT_EQ(areas.features.size(), 2U);
  EXPECT_EQ(areas.features[0].polygons, std::get<MultiPolygon>(layers()[0].rows[0].shape));
  EXPECT_EQ(areas.features[0].attribute("delivery"), "0.5");
  EXPECT_EQ(areas.features[0].attribute("emitters"), "12");
  EXPECT_EQ(areas.features[0].attribute("cause"), "it's clogged");
  EXPECT_EQ(areas.features[1].attribute("delivery"), "");
  EXPECT_TRUE(areas.features[1].polygons.empty());
  EXPECT_EQ(answer(file, "SELECT du_lq FROM uniformity WHERE zone = 'Z1'"), "0.81");
}

TEST(GeoPackage, HasSpatialIndexColumnDescriptionsAndOneMetadataRecord) {
  const fs::path file = fresh_folder() / "results.gpkg";
  write_geopackage(file, parse_crs("EPSG:32614"), layers(),
                   {{"method", "kriging & more"}, {"seed", "7"}});
  EXPECT_EQ(answer(file, "SELECT count(*) FROM rtree_low_areas_geom"), "1");
  EXPECT_EQ(answer(file,
                   "SELECT description FROM gpkg_data_columns WHERE table_name = 'low_areas' AND "
                   "column_name = 'delivery'"),
            "share of the clean discharge, 0 to 1");
  EXPECT_EQ(answer(file, "SELECT count(*) FROM gpkg_metadata"), "1");
  EXPECT_EQ(answer(file, "SELECT reference_scope FROM gpkg_metadata_reference"), "geopackage");
  EXPECT_THAT(answer(file, "SELECT metadata FROM gpkg_metadata"),
              HasSubstr("method: kriging &amp; more\nseed: 7"));
  EXPECT_EQ(answer(file,
                   "SELECT count(*) FROM gpkg_extensions WHERE extension_name IN ('gpkg_schema', "
                   "'gpkg_metadata')"),
            "4");
  EXPECT_EQ(answer(file, "SELECT data_type FROM gpkg_contents WHERE table_name = 'uniformity'"),
            "attributes");
  EXPECT_EQ(answer(file, "PRAGMA integrity_check"), "ok");
  EXPECT_EQ(answer(file, "SELECT count(*) FROM pragma_foreign_key_check"), "0");
}

TEST(GeoPackage, WritesRowsThatAreMadeOnTheWayAfterThoseThatAreHeld) {
  const fs::path file = fresh_folder() / "results.gpkg";
  ResultLayer many = layers()[1];
  many.made_rows = 5000;
  many.make_row = [](std::size_t number) {
    return LayerRow{std::monostate{}, {fmt::format("M{}", number), 0.5}};
  };
  write_geopackage(file, parse_crs("EPSG:32614"), {many}, {});
  EXPECT_EQ(answer(file, "SELECT count(*) FROM uniformity"), "5001");
  EXPECT_EQ(answer(file, "SELECT zone FROM uniformity ORDER BY fid LIMIT 1"), "Z1");
  EXPECT_EQ(answer(file, "SELECT zone FROM uniformity ORDER BY fid DESC LIMIT 1"), "M4999");
}

TEST(GeoPackage, IsTheSameBytesWheneverItIsWritten) {
  const fs::path folder = fresh_folder();
  const Crs crs = parse_crs("EPSG:32614");
  ::unsetenv("SOURCE_DATE_EPOCH");
  write_geopackage(folder / "a.gpkg", crs, layers(), {{"seed", "7"}});
  ::usleep(1'100'000);
  write_geopackage(folder / "b.gpkg", crs, layers(), {{"seed", "7"}});
  EXPECT_EQ(bytes_of(folder / "a.gpkg"), bytes_of(folder / "b.gpkg"));
  ::setenv("SOURCE_DATE_EPOCH", "1778572800", 1);
  write_geopackage(folder / "c.gpkg", crs, layers(), {{"seed", "7"}});
  ::unsetenv("SOURCE_DATE_EPOCH");
  EXPECT_EQ(answer(folder / "c.gpkg", "SELECT 'at ' || last_change FROM gpkg_contents"),
            "at 2026-05-12T08:00:00.000Z");
}

TEST(GeoPackage, ThatCannotBeWrittenIsAFileErrorAndLeavesNothing) {
  const fs::path folder = fresh_folder();
  const auto write = [](const fs::path& file) {
    write_geopackage(file, parse_crs("EPSG:32614"), layers(), {});
  };
  EXPECT_EQ(code_of<FileError>([&] { write(folder / "none" / "r.gpkg"); }), "not_written");
  fs::create_directory(folder / "taken.gpkg");
  EXPECT_EQ(code_of<FileError>([&] { write(folder / "taken.gpkg"); }), "not_written");
  EXPECT_EQ(std::distance(fs::directory_iterator(folder), fs::directory_iterator()), 1);
}

}  // namespace
}  // namespace evendrip
