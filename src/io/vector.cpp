// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/vector.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>
#include <ogrsf_frmts.h>

#include "file_errors.hpp"
#include "gdal_session.hpp"
#include "text_file.hpp"
#include "vector_shapes.hpp"
#include "vector_table.hpp"

namespace evendrip {
namespace {

InputError layer_problem(const FileRef& file, std::string code, std::string text, std::string found,
                         std::string expected, std::string remedy) {
  return InputError(Doubt{std::move(code),
                          Severity::problem,
                          {file.as_written, "", 0, ""},
                          std::move(text),
                          std::move(found),
                          std::move(expected),
                          std::move(remedy)});
}

std::vector<std::string> open_options() {
  // No network, and nothing written beside the user's file.
  return {"@DOWNLOAD_SCHEMA=NO", "@WRITE_GFS=NO"};
}

OGRLayer& chosen_layer(GDALDataset& dataset, const FileRef& file) {
  std::vector<std::string> names;
  for (OGRLayer* layer : dataset.GetLayers()) names.emplace_back(layer->GetName());
  if (!file.layer.empty()) {
    if (OGRLayer* layer = dataset.GetLayerByName(file.layer.c_str())) return *layer;
    throw layer_problem(file, "no_such_layer", "the file has no layer of this name", file.layer,
                        "one of " + listed(names), "Name one of them after the bar");
  }
  if (names.size() == 1) return *dataset.GetLayer(0);

  // A GPX file always shows five layers; the points of its routes and tracks are no places.
  const bool gpx = std::string_view(dataset.GetDriverName()) == "GPX";
  std::vector<OGRLayer*> filled;
  for (OGRLayer* layer : dataset.GetLayers()) {
    const std::string_view name = layer->GetName();
    if (gpx && (name == "route_points" || name == "track_points")) continue;
    if (layer->GetFeatureCount() != 0) filled.push_back(layer);
  }
  if (filled.size() == 1) return *filled.front();
  if (names.empty() || filled.empty())
    throw layer_problem(file, "no_features", "the file has no features", "", "one feature or more",
                        "Check that the export worked");
  throw layer_problem(file, "layer_not_named", "the file has several layers", listed(names),
                      fmt::format("\"{}|{}\" for example", file.as_written, names.front()),
                      "Name the layer after a bar");
}

std::string text_of(const OGRFeature& feature, int i) {
  if (!feature.IsFieldSetAndNotNull(i)) return {};
  const OGRFieldType type = feature.GetFieldDefnRef(i)->GetType();
  int year = 0;
  int month = 0;
  int day = 0;
  int hour = 0;
  int minute = 0;
  float second = 0;
  int zone = 0;
  if (type == OFTDate &&
      feature.GetFieldAsDateTime(i, &year, &month, &day, &hour, &minute, &second, &zone) != 0)
    return fmt::format("{:04}-{:02}-{:02}", year, month, day);
  OGRFeature& for_text = const_cast<OGRFeature&>(feature);
  return std::string(trimmed(for_text.GetFieldAsString(i)));
}

/// Where attributes go: into the feature, or into a row of the table where there is one.
void take_attributes(const OGRFeature& source, Feature& feature, Table* table) {
  for (int i = 0; i < source.GetFieldCount(); ++i) {
    std::string text = text_of(source, i);
    if (table != nullptr) {
      table->add_cell(text);
    } else {
      feature.attributes.emplace_back(lower_case(source.GetFieldDefnRef(i)->GetNameRef()),
                                      std::move(text));
    }
  }
  if (table != nullptr) table->lines.push_back(feature.number);
}

Feature feature_of(const OGRFeature& source, std::size_t number, LayerReading& reading,
                   Table* table) {
  Feature feature;
  feature.number = number;
  take_attributes(source, feature, table);
  if (const OGRGeometry* shape = source.GetGeometryRef()) add_shape(*shape, feature, reading);
  return feature;
}

/// True if coordinates are stored in the authority's order and that order is y before x.
bool stores_y_first(const OGRSpatialReference* reference) {
  if (reference == nullptr) return false;
  const std::vector<int>& mapping = reference->GetDataAxisToSRSAxisMapping();
  return mapping.size() >= 2 && mapping[0] == 1 && mapping[1] == 2 &&
         (reference->EPSGTreatsAsLatLong() != 0 || reference->EPSGTreatsAsNorthingEasting() != 0);
}

bool has_shape(const Feature& feature) {
  return !feature.points.empty() || !feature.lines.empty() || !feature.polygons.empty();
}

}  // namespace

std::string Feature::attribute(std::string_view name) const {
  const auto found = std::find_if(attributes.begin(), attributes.end(),
                                  [name](const auto& pair) { return pair.first == name; });
  return found == attributes.end() ? std::string() : found->second;
}

namespace {

VectorLayer read_with_ogr(const FileRef& file, Table* table) {
  const DatasetHandle dataset =
      open_allowed(file, GDAL_OF_VECTOR, allowed_vector_drivers(), "a map layer", open_options());
  GdalMessages messages;
  OGRLayer& source = chosen_layer(*dataset, file);
  VectorLayer layer;
  layer.file = file.as_written;
  layer.layer = source.GetName();
  const OGRFeatureDefn& fields = *source.GetLayerDefn();
  for (int i = 0; i < fields.GetFieldCount(); ++i)
    layer.fields.push_back(lower_case(fields.GetFieldDefn(i)->GetNameRef()));
  layer.crs = crs_of(source.GetSpatialRef());

  LayerReading reading{file, layer.layer, stores_y_first(source.GetSpatialRef()), {}};
  messages.forget();
  for (const OGRFeatureUniquePtr& feature : source)
    layer.features.push_back(feature_of(*feature, layer.features.size() + 1, reading, table));
  if (messages.failed())
    reading.problem(layer.features.size() + 1, "unreadable_file",
                    "reading stops after the feature before this one: " +
                        as_user_knows(messages.text(), file.path, file.as_written),
                    "a whole file", "Export the file again");
  throw_if_problem(reading.problems);
  if (layer.features.empty())
    throw layer_problem(file, "no_features", "the layer has no features", "", "one feature or more",
                        "Check that the export worked");
  return layer;
}

void require_shapes(const VectorLayer& layer, const FileRef& file) {
  if (std::none_of(layer.features.begin(), layer.features.end(), has_shape))
    throw layer_problem(file, "no_shapes", "no feature of the layer has a place on the map", "",
                        "points, lines or polygons",
                        "Export the layer with its geometry; a table needs lat and lon columns");
}

}  // namespace

VectorLayer read_vector(const FileRef& file) {
  VectorLayer layer = is_table(file) ? read_table_layer(file) : read_with_ogr(file, nullptr);
  require_shapes(layer, file);
  return layer;
}

LayerTable read_layer_table(const FileRef& file) {
  LayerTable read;
  read.table.file = file.as_written;
  read.layer = read_with_ogr(file, &read.table);
  read.table.headings = read.layer.fields;
  require_shapes(read.layer, file);
  return read;
}

Extent extent_of(const VectorLayer& layer) {
  Extent extent;
  for (const Feature& feature : layer.features) {
    for (const Point& point : feature.points) extent.include(point);
    for (const Line& line : feature.lines) extent.include(extent_of(line));
    extent.include(extent_of(feature.polygons));
  }
  return extent;
}

}  // namespace evendrip
