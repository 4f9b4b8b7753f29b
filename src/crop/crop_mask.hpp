// SPDX-License-Identifier: Apache-2.0
// Which cells of a grid a mask of another raster (cloud, shadow, bare soil) touches.
#pragma once

#include <memory>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

class CropMask {
 public:
  /// `pixel_m`: of the raster that is masked, on the ground; larger pixels are interpolated, so
  /// that a cell is made of all pixels within half of one from its centre.
  CropMask(const Field& field, const CropSource& source, const Grid& grid, double pixel_m);
  /// One flag for each cell of a window. Where the mask has no value nothing is masked.
  std::vector<bool> over(const Window& window) const;

 private:
  bool masks(const Raster& part, std::size_t i) const;

  std::vector<int> masked_values_;
  int finer_ = 1;                       ///< places looked up along a side of a cell
  int margin_ = 0;                      ///< of the fine grid beyond the cells' grid, in places
  double reach_ = 0;                    ///< from the centre of a cell, in places
  std::unique_ptr<RasterReader> mask_;  ///< on the fine grid; null where it has no value at all
};

}  // namespace evendrip
