// SPDX-License-Identifier: Apache-2.0
// The site of every cell of a grid: which lateral feeds it, at which station, in which zone.
#pragma once

#include <memory>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/geo/grid.hpp"

namespace evendrip {

/// A cell belongs to the nearest lateral of its zone (ties: the lower index); its station is that
/// of the nearest point on it, by the ground as place_on_lateral counts. Outside the zones: zone -1
/// and lateral -1; in a zone without laterals: lateral -1. The place is the centre of the cell.
class SiteMap {
 public:
  SiteMap(const Field& field, const Grid& grid);
  ~SiteMap();
  SiteMap(SiteMap&&) noexcept;
  std::vector<Site> over(const Window& window) const;  ///< row by row; safe from many threads

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace evendrip
