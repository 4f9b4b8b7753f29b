// SPDX-License-Identifier: Apache-2.0
// A zone as a grid of laterals x stations, each cell a segment of a lateral.
#pragma once

#include <optional>
#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// Segment (row, station) is row * stations() + station; segments beyond a lateral's end are cells
/// of the grid too, but stand for nothing.
struct SegmentGrid {
  int zone = -1;
  double step_m = 1;
  Point across;                    ///< unit vector in which rows ascend
  std::vector<int> laterals;       ///< index into Field::laterals, in order across their bearing
  std::vector<double> across_m;    ///< of each, ascending strictly
  std::vector<double> stations_m;  ///< middles of the segments
  std::vector<double> lengths_m;   ///< of each lateral

  int rows() const { return static_cast<int>(laterals.size()); }
  int stations() const { return static_cast<int>(stations_m.size()); }
  int segments() const { return rows() * stations(); }
  /// Mean distance of neighbouring laterals; of a lone one the step, at least 1 m.
  double spacing_m() const;
  int segment(int row, int station) const { return row * stations() + station; }
  bool present(int row, int station) const;
  /// Row of a lateral of the field; -1 if it is of another zone.
  int row_of(int lateral) const;
  /// Station cell of a place along a lateral, clamped to the ends.
  int station_of(double station_m) const;
};

/// Steps of about `step_m`, equal, along the longest lateral. Laterals that lie at one distance
/// across are set 5 cm apart, in the order of the field. Throws std::invalid_argument for a zone
/// without laterals or a step not above 0.
SegmentGrid segment_grid(const Field& field, int zone, double step_m);

}  // namespace evendrip
