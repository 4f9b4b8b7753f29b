// SPDX-License-Identifier: Apache-2.0
#include "vector_shapes.hpp"

#include <cmath>
#include <memory>

#include <fmt/format.h>

namespace evendrip {
namespace {

Point point_of(const OGRPoint& point, LayerReading& reading, std::size_t number) {
  const Point p =
      reading.swapped_axes ? Point{point.getY(), point.getX()} : Point{point.getX(), point.getY()};
  if (!std::isfinite(p.x) || !std::isfinite(p.y))
    reading.problem(number, "coordinate_not_finite", "a coordinate is not a finite number",
                    "finite coordinates", "Remove or redraw this feature");
  return p;
}

std::vector<Point> points_of(const OGRSimpleCurve& curve, LayerReading& reading,
                             std::size_t number) {
  std::vector<Point> points;
  points.reserve(static_cast<std::size_t>(curve.getNumPoints()));
  for (const OGRPoint& point : curve) points.push_back(point_of(point, reading, number));
  return points;
}

Ring ring_of(const OGRLinearRing& curve, LayerReading& reading, std::size_t number) {
  Ring ring = points_of(curve, reading, number);
  while (ring.size() > 1 && ring.front() == ring.back()) ring.pop_back();
  return ring;
}

void add_polygon(const OGRPolygon& shape, Feature& feature, LayerReading& reading) {
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
void add_geometry(const OGRGeometry& shape, Feature& feature, LayerReading& reading) {
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

}  // namespace

void add_shape(const OGRGeometry& shape, Feature& feature, LayerReading& reading) {
  const bool curved = shape.hasCurveGeometry(TRUE) != 0;
  const bool surface = OGR_GT_IsSubClassOf(shape.getGeometryType(), wkbPolyhedralSurface) != 0;
  if (!curved && !surface) {
    add_geometry(shape, feature, reading);
    return;
  }
  const std::unique_ptr<OGRGeometry> plain(
      curved ? shape.getLinearGeometry() : OGRGeometryFactory::forceToMultiPolygon(shape.clone()));
  if (plain) add_geometry(*plain, feature, reading);
}

}  // namespace evendrip
