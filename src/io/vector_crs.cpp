// SPDX-License-Identifier: Apache-2.0
// Vector layers from their own CRS to another, with the checks that belong to longitude/latitude.
#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "evendrip/io/vector.hpp"
#include "gdal_session.hpp"

namespace evendrip {
namespace {

Extent swapped(const Extent& e) {
  return {e.y_min, e.x_min, e.y_max, e.x_max};
}

bool within(const Extent& inner, const Extent& outer) {
  return inner.x_min >= outer.x_min && inner.x_max <= outer.x_max && inner.y_min >= outer.y_min &&
         inner.y_max <= outer.y_max;
}

/// Longitude and latitude where a CRS is meant to be used, a degree more on each side; empty if it
/// does not say.
Extent area_of_use(const Crs& crs) {
  const OGRSpatialReference reference = reference_of(crs);
  Extent area;
  if (reference.GetAreaOfUse(&area.x_min, &area.y_min, &area.x_max, &area.y_max, nullptr) &&
      area.x_min > -1000 && area.x_min < area.x_max && area.y_min < area.y_max)
    return area.grown(1);
  return {};
}

enum class Fit { as_it_is, swapped, not_at_all };

Fit lon_lat_fit(const Extent& extent, const Crs& to) {
  const Extent earth{-180, -90, 180, 90};
  const bool fits = within(extent, earth);
  const bool fits_swapped = within(swapped(extent), earth);
  if (!fits) return fits_swapped ? Fit::swapped : Fit::not_at_all;
  const Extent area = area_of_use(to);
  if (!fits_swapped || area.empty() || area.intersects(extent)) return Fit::as_it_is;
  return within(swapped(extent), area) ? Fit::swapped : Fit::as_it_is;
}

void swap_axes(VectorLayer& layer) {
  const auto swap_all = [](std::vector<Point>& points) {
    for (Point& point : points) std::swap(point.x, point.y);
  };
  for (Feature& feature : layer.features) {
    swap_all(feature.points);
    for (Line& line : feature.lines) swap_all(line);
    for (Polygon& polygon : feature.polygons) {
      swap_all(polygon.outer);
      for (Ring& hole : polygon.holes) swap_all(hole);
    }
  }
}

void check_lon_lat(VectorLayer& layer, const Crs& to, Doubts& doubts) {
  const Extent extent = extent_of(layer);
  const Fit fit = lon_lat_fit(extent, to);
  if (fit == Fit::as_it_is) return;
  const std::string found = fmt::format("x {:.6g} to {:.6g}, y {:.6g} to {:.6g}", extent.x_min,
                                        extent.x_max, extent.y_min, extent.y_max);
  const Place place{layer.file, layer.layer, 0, ""};
  if (fit == Fit::not_at_all)
    throw InputError(
        Doubt{"not_lon_lat", Severity::problem, place,
              "the coordinates are no longitude and latitude, though the layer says so", found,
              "longitude -180 to 180 and latitude -90 to 90",
              "Export the layer with the CRS that its coordinates are in"});
  doubts.push_back(
      {"swapped_lat_lon", Severity::problem, place, "latitude stands where longitude belongs",
       found, "longitude first, then latitude", "Swap the two columns or export the layer again"});
  // Read as meant, so that later checks speak of the right place; the run still refuses to start.
  swap_axes(layer);
}

Feature transformed(Feature feature, const Transform& transform) {
  for (Point& point : feature.points) point = transform(point);
  for (Line& line : feature.lines) line = transform(line);
  feature.polygons = transform(feature.polygons);
  return feature;
}

}  // namespace

VectorLayer in_crs(VectorLayer layer, const Crs& to, const std::optional<Crs>& assumed,
                   Doubts& doubts) {
  doubts.insert(doubts.end(), layer.doubts.begin(), layer.doubts.end());
  layer.doubts.clear();
  const Place place{layer.file, layer.layer, 0, ""};
  if (!layer.crs.known()) {
    if (!assumed || !assumed->known())
      throw InputError(Doubt{"layer_without_crs", Severity::problem, place,
                             "the layer does not say in which CRS its coordinates are", "",
                             "a layer with a CRS", "Export it with its CRS, or as GeoJSON"});
    doubts.push_back({"assumed_crs", Severity::doubt, place,
                      "the layer does not say in which CRS its coordinates are; " + assumed->name +
                          " is assumed",
                      "", "a layer with a CRS", "Export it with its CRS"});
    layer.crs = *assumed;
  }
  if (layer.crs.geographic) check_lon_lat(layer, to, doubts);
  if (same_crs(layer.crs, to)) return layer;

  const Transform transform(layer.crs, to);
  Doubts problems;
  for (Feature& feature : layer.features) {
    const std::size_t number = feature.number;
    try {
      feature = transformed(std::move(feature), transform);
    } catch (const InputError& error) {
      for (Doubt problem : error.problems()) {
        problem.place = {layer.file, layer.layer, number, ""};
        problems.push_back(std::move(problem));
      }
    }
  }
  throw_if_problem(problems);
  layer.crs = to;
  return layer;
}

}  // namespace evendrip
