// SPDX-License-Identifier: Apache-2.0
// Layers of results as one GeoPackage (OGC 12-128r17, version 1.3): feature and attribute tables,
// spatial index (annex F.3), column descriptions (F.9, schema) and metadata (F.8).
#include <unistd.h>

#include <charconv>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <memory>
#include <system_error>
#include <utility>

#include <cpl_string.h>
#include <fmt/format.h>
#include <ogrsf_frmts.h>

#include "evendrip/io/results.hpp"
#include "file_errors.hpp"
#include "gdal_session.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

/// SOURCE_DATE_EPOCH (reproducible-builds.org) as ISO 8601, else a fixed moment: files of the same
/// results are the same bytes whenever they are written.
std::string date_of_results() {
  std::time_t moment = 946684800;  // 2000-01-01T00:00:00Z
  if (const char* given = std::getenv("SOURCE_DATE_EPOCH")) {
    const std::string_view text = given;
    std::time_t value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error == std::errc() && end == text.data() + text.size()) moment = value;
  }
  std::tm utc{};
  ::gmtime_r(&moment, &utc);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.000Z", utc.tm_year + 1900, utc.tm_mon + 1,
                     utc.tm_mday, utc.tm_hour, utc.tm_min, utc.tm_sec);
}

std::string sql_text(const std::string& text) {
  std::string quoted = "'";
  for (const char c : text) {
    if (c == '\'') quoted += '\'';
    quoted += c;
  }
  return quoted + "'";
}

void run_sql(GDALDataset& file, const std::string& statement) {
  if (OGRLayer* result = file.ExecuteSQL(statement.c_str(), nullptr, nullptr))
    file.ReleaseResultSet(result);
}

OGRwkbGeometryType geometry_type(ResultLayer::Shape shape) {
  switch (shape) {
    case ResultLayer::Shape::point:
      return wkbPoint;
    case ResultLayer::Shape::line:
      return wkbLineString;
    case ResultLayer::Shape::polygon:
      return wkbMultiPolygon;
    case ResultLayer::Shape::none:
      break;
  }
  return wkbNone;
}

OGRFieldType field_type(LayerField::Type type) {
  switch (type) {
    case LayerField::Type::integer:
      return OFTInteger64;
    case LayerField::Type::text:
      return OFTString;
    case LayerField::Type::number:
      break;
  }
  return OFTReal;
}

OGRLinearRing closed_ring(const Ring& ring) {
  OGRLinearRing closed;
  for (const Point& p : ring) closed.addPoint(p.x, p.y);
  closed.closeRings();
  return closed;
}

struct GeometryOf {
  std::unique_ptr<OGRGeometry> operator()(std::monostate) const { return nullptr; }
  std::unique_ptr<OGRGeometry> operator()(const Point& p) const {
    return std::make_unique<OGRPoint>(p.x, p.y);
  }
  std::unique_ptr<OGRGeometry> operator()(const Line& line) const {
    auto shape = std::make_unique<OGRLineString>();
    for (const Point& p : line) shape->addPoint(p.x, p.y);
    return shape;
  }
  std::unique_ptr<OGRGeometry> operator()(const MultiPolygon& polygons) const {
    auto shape = std::make_unique<OGRMultiPolygon>();
    for (const Polygon& polygon : polygons) {
      OGRPolygon part;
      OGRLinearRing outer = closed_ring(polygon.outer);
      part.addRing(&outer);
      for (const Ring& hole : polygon.holes) {
        OGRLinearRing inner = closed_ring(hole);
        part.addRing(&inner);
      }
      shape->addGeometry(&part);
    }
    return shape;
  }
};

struct SetCell {
  OGRFeature& feature;
  int field;
  void operator()(std::monostate) const { feature.SetFieldNull(field); }
  void operator()(double value) const {
    if (std::isfinite(value)) {
      feature.SetField(field, value);
    } else {
      feature.SetFieldNull(field);
    }
  }
  void operator()(long long value) const { feature.SetField(field, static_cast<GIntBig>(value)); }
  void operator()(const std::string& value) const { feature.SetField(field, value.c_str()); }
};

bool add_row(OGRLayer& target, const ResultLayer& layer, const LayerRow& row) {
  const OGRFeatureUniquePtr feature(OGRFeature::CreateFeature(target.GetLayerDefn()));
  if (layer.shape != ResultLayer::Shape::none) {
    std::unique_ptr<OGRGeometry> shape = std::visit(GeometryOf{}, row.shape);
    if (shape) feature->SetGeometryDirectly(shape.release());
  }
  for (std::size_t i = 0; i < std::min(row.values.size(), layer.fields.size()); ++i)
    std::visit(SetCell{*feature, static_cast<int>(i)}, row.values[i]);
  return target.CreateFeature(feature.get()) == OGRERR_NONE;
}

/// In one transaction, without which the database would wait for the disk after each row.
bool add_rows(GDALDataset& file, OGRLayer& target, const ResultLayer& layer) {
  if (file.StartTransaction(true) != OGRERR_NONE) return false;
  for (const LayerRow& row : layer.rows)
    if (!add_row(target, layer, row)) return false;
  for (std::size_t i = 0; i < layer.made_rows; ++i)
    if (!add_row(target, layer, layer.make_row(i))) return false;
  return file.CommitTransaction() == OGRERR_NONE;
}

bool add_layer(GDALDataset& file, const Crs& crs, const ResultLayer& layer) {
  OGRSpatialReference reference = reference_of(crs);
  const bool placed = layer.shape != ResultLayer::Shape::none;
  CPLStringList options;
  options.SetNameValue("DESCRIPTION", layer.description.c_str());
  if (placed) {
    options.SetNameValue("GEOMETRY_NAME", "geom");
    options.SetNameValue("SPATIAL_INDEX", "YES");
  }
  OGRLayer* target =
      file.CreateLayer(layer.name.c_str(), placed && crs.known() ? &reference : nullptr,
                       geometry_type(layer.shape), options.List());
  if (target == nullptr) return false;
  for (const LayerField& field : layer.fields) {
    OGRFieldDefn definition(field.name.c_str(), field_type(field.type));
    if (target->CreateField(&definition) != OGRERR_NONE) return false;
  }
  return add_rows(file, *target, layer);
}

/// The schema extension: what each column holds, with its unit.
void describe_columns(GDALDataset& file, const std::vector<ResultLayer>& layers) {
  run_sql(file,
          "CREATE TABLE gpkg_data_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL, "
          "name TEXT, title TEXT, description TEXT, mime_type TEXT, constraint_name TEXT, "
          "CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name), "
          "CONSTRAINT gdc_tn UNIQUE (table_name, name))");
  run_sql(file,
          "CREATE TABLE gpkg_data_column_constraints (constraint_name TEXT NOT NULL, "
          "constraint_type TEXT NOT NULL, value TEXT, min NUMERIC, min_is_inclusive BOOLEAN, "
          "max NUMERIC, max_is_inclusive BOOLEAN, description TEXT, "
          "CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value))");
  for (const ResultLayer& layer : layers)
    for (const LayerField& field : layer.fields)
      if (!field.comment.empty())
        run_sql(file,
                fmt::format("INSERT INTO gpkg_data_columns (table_name, column_name, "
                            "description) VALUES ({}, {}, {})",
                            sql_text(layer.name), sql_text(field.name), sql_text(field.comment)));
}

/// A record in the manner of ISO 19115/19139: what was done, as the statement of lineage.
std::string iso_record(const std::vector<std::pair<std::string, std::string>>& metadata,
                       const std::string& date) {
  std::string statement;
  for (const auto& [key, value] : metadata)
    statement.append(key).append(": ").append(value).append("\n");
  const auto text = [](const std::string& value) {
    return "<gco:CharacterString>" + xml_escaped(value) + "</gco:CharacterString>";
  };
  return "<gmd:MD_Metadata xmlns:gmd=\"http://www.isotc211.org/2005/gmd\" "
         "xmlns:gco=\"http://www.isotc211.org/2005/gco\">\n"
         "<gmd:dateStamp><gco:Date>" +
         date.substr(0, 10) +
         "</gco:Date></gmd:dateStamp>\n<gmd:identificationInfo><gmd:MD_DataIdentification>"
         "<gmd:abstract>" +
         text("Evaluation of a subsurface drip irrigation system by evendrip") +
         "</gmd:abstract></gmd:MD_DataIdentification></gmd:identificationInfo>\n"
         "<gmd:dataQualityInfo><gmd:DQ_DataQuality><gmd:lineage><gmd:LI_Lineage><gmd:statement>" +
         text(statement) +
         "</gmd:statement></gmd:LI_Lineage></gmd:lineage></gmd:DQ_DataQuality>"
         "</gmd:dataQualityInfo>\n</gmd:MD_Metadata>\n";
}

void add_metadata(GDALDataset& file,
                  const std::vector<std::pair<std::string, std::string>>& metadata,
                  const std::string& date) {
  run_sql(file,
          "CREATE TABLE gpkg_metadata (id INTEGER CONSTRAINT m_pk PRIMARY KEY ASC NOT NULL, "
          "md_scope TEXT NOT NULL DEFAULT 'dataset', md_standard_uri TEXT NOT NULL, "
          "mime_type TEXT NOT NULL DEFAULT 'text/xml', metadata TEXT NOT NULL DEFAULT '')");
  run_sql(file,
          "CREATE TABLE gpkg_metadata_reference (reference_scope TEXT NOT NULL, table_name TEXT, "
          "column_name TEXT, row_id_value INTEGER, timestamp DATETIME NOT NULL DEFAULT "
          "(strftime('%Y-%m-%dT%H:%M:%fZ','now')), md_file_id INTEGER NOT NULL, "
          "md_parent_id INTEGER, CONSTRAINT crmr_mfi_fk FOREIGN KEY (md_file_id) REFERENCES "
          "gpkg_metadata(id), CONSTRAINT crmr_mpi_fk FOREIGN KEY (md_parent_id) REFERENCES "
          "gpkg_metadata(id))");
  run_sql(file, fmt::format("INSERT INTO gpkg_metadata VALUES (1, 'dataset', "
                            "'http://www.isotc211.org/2005/gmd', 'text/xml', {})",
                            sql_text(iso_record(metadata, date))));
  run_sql(file, fmt::format("INSERT INTO gpkg_metadata_reference VALUES ('geopackage', NULL, NULL, "
                            "NULL, {}, 1, NULL)",
                            sql_text(date)));
}

/// Tables of the two extensions, as clause 2.3.2 wants them registered.
void register_extensions(GDALDataset& file) {
  run_sql(file,
          "CREATE TABLE IF NOT EXISTS gpkg_extensions (table_name TEXT, column_name TEXT, "
          "extension_name TEXT NOT NULL, definition TEXT NOT NULL, scope TEXT NOT NULL, "
          "CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name))");
  const auto add = [&file](const char* table, const char* name, const char* definition) {
    run_sql(file, fmt::format("INSERT INTO gpkg_extensions VALUES ({}, NULL, {}, {}, 'read-write')",
                              sql_text(table), sql_text(name), sql_text(definition)));
  };
  const char* const schema = "http://www.geopackage.org/spec121/#extension_schema";
  const char* const metadata = "http://www.geopackage.org/spec121/#extension_metadata";
  add("gpkg_data_columns", "gpkg_schema", schema);
  add("gpkg_data_column_constraints", "gpkg_schema", schema);
  add("gpkg_metadata", "gpkg_metadata", metadata);
  add("gpkg_metadata_reference", "gpkg_metadata", metadata);
}

}  // namespace

void write_geopackage(const fs::path& file, const Crs& crs, const std::vector<ResultLayer>& layers,
                      const std::vector<std::pair<std::string, std::string>>& metadata) {
  GdalMessages messages;
  const std::string date = date_of_results();
  const ThreadOption current_date("OGR_CURRENT_DATE", date);
  const fs::path beside =
      file.parent_path() / fmt::format(".{}.{}.gpkg", file.filename().string(), ::getpid());
  std::error_code ignored;
  fs::remove(beside, ignored);
  GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
  DatasetHandle target(driver->Create(beside.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
  bool good = target != nullptr;
  for (const ResultLayer& layer : layers) good = good && add_layer(*target, crs, layer);
  if (good) {
    target->FlushCache(false);
    describe_columns(*target, layers);
    add_metadata(*target, metadata, date);
    register_extensions(*target);
  }
  target.reset();
  std::error_code failed;
  if (good && !messages.failed()) {
    fs::rename(beside, file, failed);
    if (!failed) return;
  }
  for (const char* ending : {"", "-journal", "-wal", "-shm"})
    fs::remove(fs::path(beside.string() + ending), ignored);
  throw not_written(file, failed ? failed.message() : messages.text());
}

}  // namespace evendrip
