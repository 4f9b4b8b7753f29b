// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crs/overlay.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

#include <ogr_geometry.h>

#include "evendrip/base/error.hpp"
#include "evendrip/geo/line.hpp"
#include "quiet.hpp"

namespace evendrip {
namespace {

using Geometry = std::unique_ptr<OGRGeometry>;

/// A local origin whose subtraction is exact: a multiple of 1024 m.
Point local_origin(const Extent& extent) {
  if (extent.empty() || !std::isfinite(extent.x_min + extent.y_min)) return {};
  return {std::floor(extent.x_min / 1024) * 1024, std::floor(extent.y_min / 1024) * 1024};
}

std::unique_ptr<OGRLinearRing> to_ogr(const Ring& ring, Point origin) {
  auto out = std::make_unique<OGRLinearRing>();
  for (const Point p : ring) out->addPoint(p.x - origin.x, p.y - origin.y);
  out->closeRings();
  return out;
}

Geometry to_ogr(const MultiPolygon& shape, Point origin) {
  auto out = std::make_unique<OGRMultiPolygon>();
  for (const Polygon& polygon : shape) {
    auto part = std::make_unique<OGRPolygon>();
    part->addRingDirectly(to_ogr(polygon.outer, origin).release());
    for (const Ring& hole : polygon.holes) {
      part->addRingDirectly(to_ogr(hole, origin).release());
    }
    out->addGeometryDirectly(part.release());
  }
  return out;
}

/// Without what has no area: rings of fewer than three different points.
MultiPolygon without_slivers(const MultiPolygon& shape) {
  const auto flat = [](const Ring& ring) {
    Ring sorted = ring;
    const auto before = [](Point a, Point b) { return a.x != b.x ? a.x < b.x : a.y < b.y; };
    std::sort(sorted.begin(), sorted.end(), before);
    return std::unique(sorted.begin(), sorted.end()) - sorted.begin() < 3;
  };
  MultiPolygon out;
  for (const Polygon& polygon : shape) {
    if (flat(polygon.outer)) continue;
    out.push_back(polygon);
    std::erase_if(out.back().holes, flat);
  }
  return out;
}

Ring from_ogr(const OGRLinearRing& ring, Point origin) {
  Ring out;
  for (int i = 0; i + 1 < ring.getNumPoints(); ++i) {
    out.push_back({ring.getX(i) + origin.x, ring.getY(i) + origin.y});
  }
  return out;
}

void collect(const OGRGeometry& geometry, Point origin, MultiPolygon& shape) {
  const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
  if (type == wkbPolygon) {
    const OGRPolygon& polygon = *geometry.toPolygon();
    if (polygon.IsEmpty()) return;
    Polygon part{from_ogr(*polygon.getExteriorRing(), origin), {}};
    for (int i = 0; i < polygon.getNumInteriorRings(); ++i) {
      part.holes.push_back(from_ogr(*polygon.getInteriorRing(i), origin));
    }
    shape.push_back(std::move(part));
  } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection) != 0) {
    const OGRGeometryCollection& parts = *geometry.toGeometryCollection();
    for (int i = 0; i < parts.getNumGeometries(); ++i) {
      collect(*parts.getGeometryRef(i), origin, shape);
    }
  }
}

MultiPolygon from_ogr(const OGRGeometry& geometry, Point origin) {
  MultiPolygon shape;
  collect(geometry, origin, shape);
  return shape;
}

[[noreturn]] void refuse() {
  throw InputError(Doubt{"bad_shape",
                         Severity::problem,
                         {},
                         "a polygon cannot be used: " + QuietGdal::last_message(),
                         "",
                         "",
                         "Draw its outline again without loops and crossings"});
}

Geometry valid_geometry(const MultiPolygon& shape, Point origin) {
  Geometry geometry = to_ogr(without_slivers(shape), origin);
  if (geometry->IsEmpty() || geometry->IsValid()) return geometry;
  const char* const options[] = {"METHOD=STRUCTURE", "KEEP_COLLAPSED=NO", nullptr};
  Geometry valid(geometry->MakeValid(options));
  if (!valid) refuse();
  // Lines and points that are left over would turn the sum into a collection.
  return to_ogr(from_ogr(*valid, Point{}), Point{});
}

/// Back at field coordinates. Slivers thinner than those coordinates can tell collapse or cross
/// themselves there, so the shape is looked at once more.
MultiPolygon at_field(const OGRGeometry& geometry, Point origin) {
  return from_ogr(*valid_geometry(from_ogr(geometry, origin), Point{}), Point{});
}

template <typename Operation>
MultiPolygon combined(const MultiPolygon& a, const MultiPolygon& b, const Operation& operation) {
  const QuietGdal quiet;
  Extent extent = extent_of(a);
  extent.include(extent_of(b));
  const Point origin = local_origin(extent);
  const Geometry first = valid_geometry(a, origin);
  const Geometry second = valid_geometry(b, origin);
  const Geometry result(operation(*first, *second));
  if (!result) refuse();
  return at_field(*result, origin);
}

template <typename Operation>
MultiPolygon changed(const MultiPolygon& shape, const Operation& operation) {
  const QuietGdal quiet;
  const Point origin = local_origin(extent_of(shape));
  const Geometry geometry = valid_geometry(shape, origin);
  if (geometry->IsEmpty()) return {};
  const Geometry result(operation(*geometry));
  if (!result) refuse();
  return at_field(*result, origin);
}

void collect_lines(const OGRGeometry& geometry, Point origin, std::vector<Line>& lines) {
  const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
  if (type == wkbLineString) {
    const OGRLineString& part = *geometry.toLineString();
    Line line;
    for (int i = 0; i < part.getNumPoints(); ++i) {
      line.push_back({part.getX(i) + origin.x, part.getY(i) + origin.y});
    }
    if (line.size() > 1) lines.push_back(std::move(line));
  } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection) != 0) {
    const OGRGeometryCollection& parts = *geometry.toGeometryCollection();
    for (int i = 0; i < parts.getNumGeometries(); ++i) {
      collect_lines(*parts.getGeometryRef(i), origin, lines);
    }
  }
}

/// Parts in the order and direction of the line; parts that meet are joined.
std::vector<Line> in_line_order(const Line& line, std::vector<Line> parts) {
  std::vector<std::pair<double, Line>> stations;
  for (Line& part : parts) {
    const double middle = length_m(part) / 2;
    const double step = std::min(middle, 1e-3);
    const double station = project_onto(line, point_at(part, middle)).station_m;
    const double next = project_onto(line, point_at(part, middle + step)).station_m;
    if (next < station) std::reverse(part.begin(), part.end());
    stations.emplace_back(station, std::move(part));
  }
  std::sort(stations.begin(), stations.end(),
            [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<Line> ordered;
  for (auto& [station, part] : stations) {
    if (!ordered.empty() && ordered.back().back() == part.front()) {
      ordered.back().insert(ordered.back().end(), part.begin() + 1, part.end());
    } else {
      ordered.push_back(std::move(part));
    }
  }
  return ordered;
}

}  // namespace

MultiPolygon intersection_of(const MultiPolygon& a, const MultiPolygon& b) {
  if (!extent_of(a).intersects(extent_of(b))) return {};
  return combined(a, b, [](OGRGeometry& x, OGRGeometry& y) { return x.Intersection(&y); });
}

MultiPolygon union_of(const MultiPolygon& a, const MultiPolygon& b) {
  return combined(a, b, [](OGRGeometry& x, OGRGeometry& y) { return x.Union(&y); });
}

MultiPolygon difference_of(const MultiPolygon& a, const MultiPolygon& b) {
  return combined(a, b, [](OGRGeometry& x, OGRGeometry& y) { return x.Difference(&y); });
}

MultiPolygon buffer_of(const MultiPolygon& shape, double distance_m) {
  constexpr int segments_per_quarter = 8;
  return changed(
      shape, [distance_m](OGRGeometry& x) { return x.Buffer(distance_m, segments_per_quarter); });
}

MultiPolygon made_valid(const MultiPolygon& shape) {
  if (invalid_because(shape).empty()) return shape;
  return changed(shape, [](OGRGeometry& x) { return x.clone(); });
}

std::string invalid_because(const MultiPolygon& shape) {
  const QuietGdal quiet;
  // In the coordinates of the field, because the reason names a place.
  const Geometry geometry = to_ogr(shape, Point{});
  if (geometry->IsEmpty() && shape.empty()) return {};
  if (geometry->IsValid()) return {};
  const std::string reason = QuietGdal::last_message();
  return reason.empty() ? "the outline is not valid" : reason;
}

MultiPolygon simplified(const MultiPolygon& shape, double tolerance_m) {
  return changed(shape,
                 [tolerance_m](OGRGeometry& x) { return x.SimplifyPreserveTopology(tolerance_m); });
}

std::vector<Line> inside_parts(const Line& line, const MultiPolygon& shape) {
  if (line.size() < 2 || !extent_of(line).intersects(extent_of(shape))) return {};
  const QuietGdal quiet;
  const Point origin = local_origin(extent_of(shape));
  const Geometry area = valid_geometry(shape, origin);
  OGRLineString path;
  for (const Point p : line) path.addPoint(p.x - origin.x, p.y - origin.y);
  const Geometry result(path.Intersection(area.get()));
  if (!result) refuse();
  std::vector<Line> parts;
  collect_lines(*result, origin, parts);
  return in_line_order(line, std::move(parts));
}

}  // namespace evendrip
