// SPDX-License-Identifier: Apache-2.0
// A short walk through places: an open path from a fixed start.
//
// Nearest neighbour, then 2-opt (Croes 1958, Oper. Res. 6:791-812) and the moving of runs of up to
// three places (Or 1976, thesis, Northwestern University; from memory) until neither shortens the
// walk. Not always the shortest; of equal choices the one with the lower index is taken, so that
// the answer is the same everywhere.
#pragma once

#include <span>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

/// Indices of all places in walking order. Distances are straight lines on the plane.
std::vector<int> walking_order(Point start, std::span<const Point> places);

/// Length of the walk from the start through the places in that order, m on the plane.
double walk_length_m(Point start, std::span<const Point> places, std::span<const int> order);

}  // namespace evendrip
