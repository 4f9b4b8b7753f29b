// SPDX-License-Identifier: Apache-2.0
// Points, lines and polygons on the plane, in metres of the field's projected CRS (or, where a
// header says so, in longitude/latitude degrees as x/y). Plain containers; no GDAL, no Boost here.
#pragma once

#include <limits>
#include <string>
#include <vector>

namespace evendrip {

struct Point {
  double x = 0;  ///< easting, m (or longitude, degrees)
  double y = 0;  ///< northing, m (or latitude, degrees)
  bool operator==(const Point&) const = default;
};

using Line = std::vector<Point>;  ///< two or more points
using Ring = std::vector<Point>;  ///< closed implicitly: the first point is not repeated at the end

struct Polygon {
  Ring outer;
  std::vector<Ring> holes;
  bool operator==(const Polygon&) const = default;
};
using MultiPolygon = std::vector<Polygon>;

/// Axis-parallel box; empty() until something was included.
struct Extent {
  double x_min = std::numeric_limits<double>::infinity();
  double y_min = std::numeric_limits<double>::infinity();
  double x_max = -std::numeric_limits<double>::infinity();
  double y_max = -std::numeric_limits<double>::infinity();

  bool empty() const { return !(x_min <= x_max && y_min <= y_max); }
  double width() const { return x_max - x_min; }
  double height() const { return y_max - y_min; }
  void include(Point p);
  void include(const Extent& other);
  Extent grown(double margin_m) const;
  bool contains(Point p) const;
  bool intersects(const Extent& other) const;
};

Extent extent_of(const Line& line);
Extent extent_of(const MultiPolygon& shape);

double distance_m(Point a, Point b);
/// Planar area in m2, holes subtracted; orientation of the rings does not matter.
double area_m2(const Polygon& polygon);
double area_m2(const MultiPolygon& shape);
/// True inside or on the boundary.
bool contains(const MultiPolygon& shape, Point p);
/// A point inside the shape, as far from its edge as a coarse search finds; for labels.
Point label_point(const MultiPolygon& shape);

/// Place in the field as the mathematics of surfaces knows it: never a lateral itself.
struct Site {
  Point place;           ///< m, field CRS
  int lateral = -1;      ///< index of the lateral, -1 if none
  double station_m = 0;  ///< distance along the lateral from its supply end, m
  int zone = -1;         ///< index of the zone, -1 if none
  bool operator==(const Site&) const = default;
};

}  // namespace evendrip
