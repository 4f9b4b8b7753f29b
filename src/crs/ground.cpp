// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include <geodesic.h>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/crs.hpp"
#include "proj_handles.hpp"

namespace evendrip {
namespace {

constexpr double radians_per_degree = std::numbers::pi / 180;

/// The geographic CRS under a CRS and its ellipsoid; takes points of the CRS to lon/lat.
class GroundView {
 public:
  explicit GroundView(const Crs& crs)
      : projected_(!crs.geographic), metre_(crs.unit_to_metre), context_(quiet_proj_context()) {
    const ProjObject object(proj_create(context_.get(), crs.wkt.c_str()));
    const ProjObject base(object ? proj_crs_get_geodetic_crs(context_.get(), object.get())
                                 : nullptr);
    const ProjObject ellipsoid(base ? proj_get_ellipsoid(context_.get(), base.get()) : nullptr);
    double semi_major = 0;
    double inverse_flattening = 0;
    if (!ellipsoid || proj_ellipsoid_get_parameters(context_.get(), ellipsoid.get(), &semi_major,
                                                    nullptr, nullptr, &inverse_flattening) == 0) {
      throw InputError(Doubt{"unknown_crs",
                             Severity::problem,
                             {},
                             "the ground under a CRS is not known",
                             crs.name,
                             "a geographic or projected CRS",
                             "Name the CRS of the data"});
    }
    geod_init(&geodesic_, semi_major, inverse_flattening > 0 ? 1 / inverse_flattening : 0);
    if (projected_) to_lonlat_.emplace(crs, base_crs(base.get(), crs));
  }

  Point lonlat(Point p) const { return to_lonlat_ ? (*to_lonlat_)(p) : p; }

  double ring_area_m2(const Ring& ring) const {
    geod_polygon polygon;
    geod_polygon_init(&polygon, 0);
    for (std::size_t i = 0; i < ring.size(); ++i) {
      add_edge(ring[i], ring[(i + 1) % ring.size()], polygon);
    }
    double area = 0;
    geod_polygon_compute(&geodesic_, &polygon, 0, 1, &area, nullptr);
    return std::abs(area);
  }

  double length_m(Point a, Point b) const {
    geod_polygon line;
    geod_polygon_init(&line, 1);
    add_edge(a, b, line);
    const Point end = lonlat(b);
    geod_polygon_addpoint(&geodesic_, &line, end.y, end.x);
    double length = 0;
    geod_polygon_compute(&geodesic_, &line, 0, 1, nullptr, &length);
    return length;
  }

 private:
  Crs base_crs(const PJ* base, const Crs& crs) const {
    const char* const options[] = {"MULTILINE=NO", nullptr};
    const char* wkt = proj_as_wkt(context_.get(), base, PJ_WKT2_2019, options);
    return parse_crs(wkt == nullptr ? crs.wkt : wkt);
  }

  /// A straight edge of the grid is no geodesic: long ones follow it in steps. The end is left out.
  void add_edge(Point a, Point b, geod_polygon& polygon) const {
    constexpr double longest_step_m = 500;
    const double length = projected_ ? distance_m(a, b) * metre_ : 0;
    const int steps = std::clamp(static_cast<int>(std::ceil(length / longest_step_m)), 1, 10000);
    for (int i = 0; i < steps; ++i) {
      const double share = static_cast<double>(i) / steps;
      const Point here = lonlat({a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)});
      geod_polygon_addpoint(&geodesic_, &polygon, here.y, here.x);
    }
  }

  bool projected_;
  double metre_;
  ProjContext context_;
  geod_geodesic geodesic_{};
  std::optional<Transform> to_lonlat_;
};

PJ_FACTORS factors_at(const Crs& projected, Point p) {
  const Crs metric = metric_twin(projected);
  const GroundView ground(projected);
  const Point lonlat = ground.lonlat(p);
  const ProjContext context = quiet_proj_context();
  const ProjObject object(proj_create(context.get(), metric.wkt.c_str()));
  const PJ_FACTORS factors = proj_factors(
      object.get(), proj_coord(lonlat.x * radians_per_degree, lonlat.y * radians_per_degree, 0, 0));
  if (proj_errno(object.get()) != 0 || !(factors.meridional_scale > 0)) {
    throw InputError(Doubt{"not_transformable",
                           Severity::problem,
                           {},
                           "the scale of the projection is not known here",
                           projected.name,
                           "a place inside the projection's area of use",
                           "Choose a CRS made for this place"});
  }
  return factors;
}

}  // namespace

double scale_factor(const Crs& projected, Point p) {
  const PJ_FACTORS factors = factors_at(projected, p);
  return (factors.meridional_scale + factors.parallel_scale) / 2;
}

double convergence_deg(const Crs& projected, Point p) {
  const PJ_FACTORS factors = factors_at(projected, p);
  return std::atan2(factors.dx_dphi, factors.dy_dphi) / radians_per_degree;
}

std::vector<double> ground_areas_m2(const Crs& crs, std::span<const MultiPolygon> shapes) {
  const GroundView ground(crs);
  std::vector<double> areas;
  areas.reserve(shapes.size());
  for (const MultiPolygon& shape : shapes) {
    double area = 0;
    for (const Polygon& polygon : shape) {
      area += ground.ring_area_m2(polygon.outer);
      for (const Ring& hole : polygon.holes) area -= ground.ring_area_m2(hole);
    }
    areas.push_back(area);
  }
  return areas;
}

std::vector<double> ground_lengths_m(const Crs& crs, std::span<const Line> lines) {
  const GroundView ground(crs);
  std::vector<double> lengths;
  lengths.reserve(lines.size());
  for (const Line& line : lines) {
    double length = 0;
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
      length += ground.length_m(line[i], line[i + 1]);
    }
    lengths.push_back(length);
  }
  return lengths;
}

double ground_area_m2(const Crs& crs, const MultiPolygon& shape) {
  return ground_areas_m2(crs, std::span(&shape, 1)).front();
}

double ground_length_m(const Crs& crs, const Line& line) {
  return ground_lengths_m(crs, std::span(&line, 1)).front();
}

double geodesic_distance_m(Point lonlat_a, Point lonlat_b) {
  constexpr double semi_major_m = 6378137;
  constexpr double inverse_flattening = 298.257223563;
  geod_geodesic geodesic;
  geod_init(&geodesic, semi_major_m, 1 / inverse_flattening);
  double distance = 0;
  geod_inverse(&geodesic, lonlat_a.y, lonlat_a.x, lonlat_b.y, lonlat_b.x, &distance, nullptr,
               nullptr);
  return distance;
}

}  // namespace evendrip
