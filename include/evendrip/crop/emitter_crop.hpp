// SPDX-License-Identifier: Apache-2.0
// The crop at an emitter: not the value of one cell of the map, whose edges know nothing of the
// emitter, but the mean over the ground that the emitter's plants drink from, with exact shares of
// the cells (crop/zonal.hpp).
//
// That ground is a piece of the lateral's strip, half the lateral spacing wide on both sides and
// centred on the emitter: roots reach as far along the lateral as across to the next one (common
// practice, no source), and at least over the emitters that share a root zone. It is no shorter
// than a cell, below which the map says nothing. What the layer itself blurs (crop/evidence.hpp) is
// not undone.
#pragma once

#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// Length of the piece, m on the ground: the largest of the median lateral spacing, the emitters
/// that share a root zone (0: not stated) times their median spacing, and the cell.
double strip_length_m(const Field& field, int emitters_per_root_zone, double cell_m);

/// Mean of a map under the piece of each site, cut at the ends of its lateral and at its zone; NaN
/// where less than half of it has values. A site without a lateral has a square about its place.
/// Throws std::invalid_argument unless length_m > 0.
std::vector<double> crop_at_sites(const Field& field, const RasterReader& map,
                                  std::span<const Site> sites, double length_m, const Work& work);

}  // namespace evendrip
