// SPDX-License-Identifier: Apache-2.0
// Ground that is low among ground that is low, whatever its shape: local Moran's I of square
// blocks, with false discovery controlled.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/shapes.hpp"
#include "screened_ground.hpp"

namespace evendrip {

struct LowArea {
  int zone = -1;
  MultiPolygon area;
  std::vector<std::size_t> cells;  ///< of the ground that count
  double level = 1;                ///< mean
  double p = 1;                    ///< of its surest block, adjusted
  double side_m = 0;               ///< of a block
};

/// Blocks of about `block_m`; cells flagged in `explained` do not count.
std::vector<LowArea> low_areas(const ScreenedGround& ground, double block_m,
                               std::span<const std::uint8_t> explained, double false_discovery_rate,
                               const Work& work);

}  // namespace evendrip
