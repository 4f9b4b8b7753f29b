// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/vector.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>
#include <ogrsf_frmts.h>

#include "gdal_session.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

/// What the features of one layer have in common while they are read.
struct Reading {
  const FileRef& file;
  std::string layer;
  bool swapped_axes = false;  ///< the file holds y before x
  Doubts problems;

  void problem(std::size_t feature, std::string code, std::string text, std::string expected,
               std::string remedy) {
    problems.push_back({std::move(code),
                        Severity::problem,
                        {file.as_written, layer, feature, ""},
                        std::move(text),
                        "",
                        std::move(expected),
                        std::move(remedy)});
  }
};

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
  // No network, nothing written beside the user's file; tables with plain column names as points.
  return {"@DOWNLOAD_SCHEMA=NO",
          "@WRITE_GFS=NO",
          "@X_POSSIBLE_NAMES=lon,longitude,long,x,easting",
          "@Y_POSSIBLE_NAMES=lat,latitude,y,northing",
          "@GEOM_POSSIBLE_NAMES=wkt,geom,geometry,the_geom",
          "@KEEP_GEOM_COLUMNS=YES"};
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

Point point_of(const OGRPoint& point, Reading& reading, std::size_t number) {
  const Point p =
      reading.swapped_axes ? Point{point.getY(), point.getX()} : Point{point.getX(), point.getY()};
  if (!std::isfinite(p.x) || !std::isfinite(p.y))
    reading.problem(number, "coordinate_not_finite", "a coordinate is not a finite number",
                    "finite coordinates", "Remove or redraw this feature");
  return p;
}

std::vector<Point> points_of(const OGRSimpleCurve& curve, Reading& reading, std::size_t number) {
  std::vector<Point> points;
  points.reserve(static_cast<std::size_t>(curve.getNumPoints()));
  for (const OGRPoint& point : curve) points.push_back(point_of(point, reading, number));
  return points;
}

Ring ring_of(const OGRLinearRing& curve, Reading& reading, std::size_t number) {
  Ring ring = points_of(curve, reading, number);
  while (ring.size() > 1 && ring.front() == ring.back()) ring.pop_back();
  return ring;
}

void add_polygon(const OGRPolygon& shape, Feature& feature, Reading& reading) {
  const OGRLinearRing* outer = shape.getExteriorRing();
  if (outer == nullptr || outer->IsEmpty()) return;
  Polygon polygon;
  polygon.outer = ring_of(*outer, reading, feature.number);
  if (polygon.outer.size() < 3) {
    reading.problem(feature.number, "degenerate_geometry", "a polygon has fewer than 3 corners",
                    "3 corners or more", "Remove or redraw this feature");
    return;
  }
  for (int i = 0; i < shape.getNumInteriorRings(); ++i) {
    Ring hole = ring_of(*shape.getInteriorRing(i), reading, feature.number);
    if (hole.size() >= 3) polygon.holes.push_back(std::move(hole));
  }
  feature.polygons.push_back(std::move(polygon));
}

/// Takes a geometry apart into points, lines and polygons; heights and measures are dropped.
void add_geometry(const OGRGeometry& shape, Feature& feature, Reading& reading) {
  if (shape.IsEmpty() != 0) return;
  switch (wkbFlatten(shape.getGeometryType())) {
    case wkbPoint:
      feature.points.push_back(point_of(*shape.toPoint(), reading, feature.number));
      break;
    case wkbLineString: {
      Line line = points_of(*shape.toLineString(), reading, feature.number);
      if (line.size() >= 2) {
        feature.lines.push_back(std::move(line));
      } else {
        reading.problem(feature.number, "degenerate_geometry", "a line has a single point",
                        "2 points or more", "Remove or redraw this feature");
      }
      break;
    }
    case wkbPolygon:
    case wkbTriangle:
      add_polygon(*shape.toPolygon(), feature, reading);
      break;
    case wkbMultiPoint:
    case wkbMultiLineString:
    case wkbMultiPolygon:
    case wkbGeometryCollection:
      for (const OGRGeometry* part : *shape.toGeometryCollection())
        add_geometry(*part, feature, reading);
      break;
    default:
      reading.problem(feature.number, "geometry_type",
                      fmt::format("a geometry of type {} is not read", shape.getGeometryName()),
                      "points, lines or polygons", "Convert the layer to plain geometries");
  }
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

Feature feature_of(const OGRFeature& source, std::size_t number, Reading& reading) {
  Feature feature;
  feature.number = number;
  for (int i = 0; i < source.GetFieldCount(); ++i)
    feature.attributes.emplace_back(lower_case(source.GetFieldDefnRef(i)->GetNameRef()),
                                    text_of(source, i));
  const OGRGeometry* shape = source.GetGeometryRef();
  if (shape == nullptr) return feature;
  const bool curved = shape->hasCurveGeometry(TRUE) != 0 ||
                      OGR_GT_IsSubClassOf(shape->getGeometryType(), wkbPolyhedralSurface) != 0;
  if (!curved) {
    add_geometry(*shape, feature, reading);
    return feature;
  }
  const bool surface = shape->hasCurveGeometry(TRUE) == 0;
  const std::unique_ptr<OGRGeometry> plain(
      surface ? OGRGeometryFactory::forceToMultiPolygon(shape->clone())
              : shape->getLinearGeometry());
  if (plain) add_geometry(*plain, feature, reading);
  return feature;
}

/// True if coordinates are stored in the authority's order and that order is y before x.
bool stores_y_first(const OGRSpatialReference* reference) {
  if (reference == nullptr) return false;
  const std::vector<int>& mapping = reference->GetDataAxisToSRSAxisMapping();
  return mapping.size() >= 2 && mapping[0] == 1 && mapping[1] == 2 &&
         (reference->EPSGTreatsAsLatLong() != 0 || reference->EPSGTreatsAsNorthingEasting() != 0);
}

/// Tables have no CRS; the headings lat and lon say what they are.
bool is_lon_lat_table(const GDALDataset& dataset, const VectorLayer& layer) {
  if (std::string_view(const_cast<GDALDataset&>(dataset).GetDriverName()) != "CSV") return false;
  const auto has = [&](const char* name) {
    return std::find(layer.fields.begin(), layer.fields.end(), name) != layer.fields.end();
  };
  return (has("lat") || has("latitude")) && (has("lon") || has("long") || has("longitude"));
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

VectorLayer read_vector(const FileRef& file) {
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
  if (!layer.crs.known() && is_lon_lat_table(*dataset, layer)) layer.crs = wgs84();

  Reading reading{file, layer.layer, stores_y_first(source.GetSpatialRef()), {}};
  messages.forget();
  for (const OGRFeatureUniquePtr& feature : source)
    layer.features.push_back(feature_of(*feature, layer.features.size() + 1, reading));
  if (messages.failed())
    reading.problem(layer.features.size() + 1, "unreadable_file",
                    "reading stops after the feature before this one: " + messages.text(),
                    "a whole file", "Export the file again");
  throw_if_problem(reading.problems);
  if (layer.features.empty())
    throw layer_problem(file, "no_features", "the layer has no features", "", "one feature or more",
                        "Check that the export worked");
  if (std::none_of(layer.features.begin(), layer.features.end(), has_shape))
    throw layer_problem(file, "no_shapes", "no feature of the layer has a place on the map", "",
                        "points, lines or polygons",
                        "Export the layer with its geometry; a table needs lat and lon columns");
  return layer;
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
