// SPDX-License-Identifier: Apache-2.0
// The map itself: drawings in order within a frame, then the labels without overlap. Private to
// this room.
#pragma once

#include <vector>

#include "canvas.hpp"

namespace evendrip {

struct MapFrame {
  Extent world;    ///< m, what the frame shows exactly
  PaperBox paper;  ///< where, in points
  double points_per_m() const { return (paper.right - paper.left) / world.width(); }
  Point to_paper(Point p) const {
    return {paper.left + (p.x - world.x_min) / world.width() * (paper.right - paper.left),
            paper.bottom - (p.y - world.y_min) / world.height() * (paper.bottom - paper.top)};
  }
};

/// Returns how many labels found no room.
int draw_map(Canvas& canvas, const MapFrame& frame, const std::vector<Drawing>& drawings);

}  // namespace evendrip
