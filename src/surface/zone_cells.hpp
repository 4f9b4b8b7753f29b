// SPDX-License-Identifier: Apache-2.0
// Zones of cells for what keeps the shapes of the zones and not the whole field.
#pragma once

#include <span>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/geo/grid.hpp"

namespace evendrip {

std::vector<MultiPolygon> areas_of(const Field& field);

/// As for a field: the first zone that holds the centre of the cell, -1 for none.
std::vector<int> zones_of_cells(std::span<const MultiPolygon> areas, const Grid& grid,
                                const Window& window);

}  // namespace evendrip
