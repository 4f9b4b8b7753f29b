// SPDX-License-Identifier: Apache-2.0
// Where on earth: coordinate reference systems and transformations, behind our own types.
//
// Coordinates are always x = easting/longitude, y = northing/latitude (traditional GIS order),
// whatever the authority's axis order. The analysis CRS is projected; its unit may be feet, in
// which case `to_metres` scales coordinates, and everything computed is in metres.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

/// A CRS as a value: its WKT2 and what is often asked of it.
struct Crs {
  std::string wkt;   ///< empty: unknown
  std::string name;  ///< "WGS 84 / UTM zone 14N"
  std::string code;  ///< "EPSG:32614", or empty
  bool geographic = false;
  double unit_to_metre = 1;  ///< of a projected CRS: 1, 0.3048, 1200/3937
  std::string unit_name;     ///< "metre", "US survey foot", "degree"
  bool known() const { return !wkt.empty(); }
};

/// From an EPSG code ("EPSG:32614" or "32614"), WKT, PROJJSON or PROJ string.
/// Throws InputError (code "unknown_crs").
Crs parse_crs(const std::string& text);
/// WGS 84 longitude/latitude.
Crs wgs84();
/// UTM zone (WGS 84) that holds the centre of a lon/lat extent, northern or southern; by zone
/// arithmetic, the exceptions of Norway and Svalbard included. Throws InputError if the extent is
/// no lon/lat extent ("not_lonlat"), wider or higher than 10 degrees ("extent_too_wide"), or north
/// of 84 or south of -80 degrees ("outside_utm").
Crs utm_for(const Extent& lonlat);
/// The same CRS with metres as its linear unit, so that computing is always in metres; a metric CRS
/// is returned as it is. Throws InputError for geographic CRSs ("degrees_refused") and for CRSs
/// whose coordinates do not grow to the east and north ("axes_refused").
Crs metric_twin(const Crs& projected);
bool same_crs(const Crs& a, const Crs& b);

/// A transformation between two CRSs. Movable; for one thread at a time.
class Transform {
 public:
  /// Throws InputError "ballpark_datum" if PROJ only has a ballpark operation.
  Transform(const Crs& from, const Crs& to);
  ~Transform();
  Transform(Transform&&) noexcept;
  Transform& operator=(Transform&&) noexcept;
  /// Throws InputError "not_transformable" for a point outside the projection's domain.
  Point operator()(Point p) const;
  Line operator()(const Line& line) const;
  MultiPolygon operator()(const MultiPolygon& shape) const;
  /// PROJ's name of the operation chosen for the first point transformed (before that: the first
  /// that PROJ lists) and its stated accuracy, m: 0 for a mere projection, negative if not stated.
  const std::string& operation() const;
  double accuracy_m() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Extent of points, transformed densely along its edges.
Extent transformed_extent(const Extent& extent, const Transform& transform);

/// Grid length over true length at a point of a projected CRS (metric), mean of meridian and
/// parallel directions; 0.9996 on the central meridian of UTM.
double scale_factor(const Crs& projected, Point p);
/// Bearing of true north against grid north, degrees, positive clockwise.
double convergence_deg(const Crs& projected, Point p);

/// Areas and lengths true on the ground: on the ellipsoid, PROJ's geodesic routines
/// (Karney 2013, J. Geodesy 87:43-55, doi:10.1007/s00190-012-0578-z).
double ground_area_m2(const Crs& crs, const MultiPolygon& shape);
double ground_length_m(const Crs& crs, const Line& line);
/// The same for many shapes or lines at once: the way to the ground is looked up once.
std::vector<double> ground_areas_m2(const Crs& crs, std::span<const MultiPolygon> shapes);
std::vector<double> ground_lengths_m(const Crs& crs, std::span<const Line> lines);
/// On the WGS 84 ellipsoid.
double geodesic_distance_m(Point lonlat_a, Point lonlat_b);

/// "GDAL 3.6.2, PROJ 9.1.1, GEOS 3.11.1, Boost 1.74"
std::string library_versions();

}  // namespace evendrip
