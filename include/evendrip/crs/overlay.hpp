// SPDX-License-Identifier: Apache-2.0
// Set operations on polygons through GEOS (by way of OGR); Boost.Geometry's overlay fails silently
// on zones that share edges. Results are valid, with points and lines dropped.
// Invalid input is made valid first; what cannot be is an InputError ("bad_shape").
#pragma once

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

MultiPolygon intersection_of(const MultiPolygon& a, const MultiPolygon& b);
MultiPolygon union_of(const MultiPolygon& a, const MultiPolygon& b);
MultiPolygon difference_of(const MultiPolygon& a, const MultiPolygon& b);
/// Round joints, 8 segments to a quarter; distance may be negative.
MultiPolygon buffer_of(const MultiPolygon& shape, double distance_m);
/// The shape made valid; unchanged if it already is.
MultiPolygon made_valid(const MultiPolygon& shape);
/// Empty text if valid, else GEOS's reason with the place.
std::string invalid_because(const MultiPolygon& shape);
/// Vertices dropped that change the outline by less than the tolerance; topology kept.
MultiPolygon simplified(const MultiPolygon& shape, double tolerance_m);
/// Parts of a line inside the shape, in line order.
std::vector<Line> inside_parts(const Line& line, const MultiPolygon& shape);

}  // namespace evendrip
