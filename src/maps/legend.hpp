// SPDX-License-Identifier: Apache-2.0
// The legend of a sheet: one block for each drawing, in the order drawn. Private to this room.
#pragma once

#include <vector>

#include "canvas.hpp"

namespace evendrip {

/// Returns the bottom edge of what was drawn.
double draw_legend(Canvas& canvas, const std::vector<Drawing>& drawings, Point top_left,
                   double width);

}  // namespace evendrip
