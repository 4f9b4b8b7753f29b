// SPDX-License-Identifier: Apache-2.0
#include "vector_table.hpp"

#include <cmath>
#include <initializer_list>
#include <memory>
#include <utility>

#include <ogr_geometry.h>

#include "evendrip/io/csv.hpp"
#include "gdal_session.hpp"
#include "text_encoding.hpp"
#include "text_file.hpp"
#include "vector_shapes.hpp"

namespace evendrip {
namespace {

std::string first_heading(const Table& table, std::initializer_list<const char*> names) {
  for (const char* name : names)
    if (table.column(name) >= 0) return name;
  return {};
}

void add_point(const NumberColumn& x, const NumberColumn& y, std::size_t row, Feature& feature,
               LayerReading& reading) {
  const bool has_x = std::isfinite(x.values[row]);
  const bool has_y = std::isfinite(y.values[row]);
  if (has_x && has_y) feature.points.push_back({x.values[row], y.values[row]});
  if (has_x != has_y)
    reading.problem(feature.number, "half_a_place", "one coordinate is there, the other is not",
                    "both " + x.heading + " and " + y.heading, "Complete the row");
}

void add_well_known_text(const std::string& text, Feature& feature, LayerReading& reading) {
  if (text.empty()) return;
  const GdalMessages messages;
  OGRGeometry* parsed = nullptr;
  const OGRErr failed = OGRGeometryFactory::createFromWkt(text.c_str(), nullptr, &parsed);
  const std::unique_ptr<OGRGeometry> shape(parsed);
  if (failed == OGRERR_NONE && shape) {
    add_shape(*shape, feature, reading);
  } else {
    reading.problem(feature.number, "bad_geometry",
                    "the geometry cannot be read: " + shortened(text),
                    "well-known text, for example POINT (-99.1 38.5)", "Correct the cell");
  }
}

}  // namespace

bool is_table(const FileRef& file) {
  const std::string ending = lower_case(file.path.extension().string());
  return ending == ".csv" || ending == ".tsv" || ending == ".txt";
}

VectorLayer read_table_layer(const FileRef& file) {
  Table table = read_csv(file.path, file.as_written);
  VectorLayer layer;
  layer.file = file.as_written;
  layer.layer = file.path.stem().string();
  layer.fields = table.headings;
  layer.doubts = table.doubts;
  const std::string lon = first_heading(table, {"lon", "longitude", "long"});
  const std::string lat = first_heading(table, {"lat", "latitude"});
  const bool lon_lat = !lon.empty() && !lat.empty();
  if (lon_lat) layer.crs = wgs84();

  LayerReading reading{file, "", false, {}};
  const NumberColumn x = plain_number_column(
      table, lon_lat ? lon : first_heading(table, {"x", "easting"}), reading.problems);
  const NumberColumn y = plain_number_column(
      table, lon_lat ? lat : first_heading(table, {"y", "northing"}), reading.problems);
  const int wkt = table.column(first_heading(table, {"wkt", "geom", "geometry", "the_geom"}));
  const bool cells_good = reading.problems.empty();
  for (std::size_t row = 0; row < table.rows(); ++row) {
    Feature feature;
    feature.number = table.lines[row];
    for (std::size_t c = 0; c < table.headings.size(); ++c)
      feature.attributes.emplace_back(table.headings[c], table.cell(row, c));
    if (wkt >= 0) {
      add_well_known_text(table.cell(row, static_cast<std::size_t>(wkt)), feature, reading);
    } else if (x.column >= 0 && y.column >= 0 && cells_good) {
      add_point(x, y, row, feature, reading);
    }
    layer.features.push_back(std::move(feature));
  }
  throw_if_problem(reading.problems);
  return layer;
}

}  // namespace evendrip
