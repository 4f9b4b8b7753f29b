// SPDX-License-Identifier: Apache-2.0
// Points on a grid: the plain mean of the points within each cell; a cell without points takes the
// inverse-distance mean (squared distance, 8 nearest points within the reach; Shepard 1968, Proc.
// 23rd ACM Nat. Conf. 517-524) or has Reason::no_source. Only the points are held in memory.
#pragma once

#include <memory>
#include <span>

#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// The reader may be used by many threads at once. Values do not depend on the order of the points
/// beyond rounding.
std::unique_ptr<RasterReader> point_surface(std::span<const Point> places,
                                            std::span<const double> values, const Grid& grid,
                                            double reach_m);

}  // namespace evendrip
