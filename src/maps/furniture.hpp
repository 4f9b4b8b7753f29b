// SPDX-License-Identifier: Apache-2.0
// What stands around a map: coordinate ticks, scale bar, north arrow. Private to this room.
#pragma once

#include "map_frame.hpp"

namespace evendrip {

/// The frame's line, with ticks and coordinates below it and to its left, in a unit of `unit_m`.
void draw_ticks(Canvas& canvas, const MapFrame& frame, double unit_m);
/// Returns the width used.
double draw_scale_bar(Canvas& canvas, const MapFrame& frame, Point top_left, double longest,
                      const Sheet& sheet);
/// Points to grid north and says so; a thin line shows where true north is.
void draw_north_arrow(Canvas& canvas, Point top_centre, double convergence_deg);

}  // namespace evendrip
