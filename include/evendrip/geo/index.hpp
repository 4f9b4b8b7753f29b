// SPDX-License-Identifier: Apache-2.0
// Spatial indexes over lines and points: Boost.Geometry's R-tree behind plain functions, and a
// bucket grid for nearest samples. Ties are ordered by (distance, index), so that answers do not
// depend on the order of building.
#pragma once

#include <cstddef>
#include <limits>
#include <memory>
#include <span>
#include <vector>

#include "evendrip/geo/line.hpp"

namespace evendrip {

struct NearLine {
  int line = -1;  ///< index into the lines given
  Projection projection;
};

/// Which lines pass near a point. Queries are const and safe from many threads.
class LineIndex {
 public:
  explicit LineIndex(std::span<const Line> lines);
  ~LineIndex();
  LineIndex(LineIndex&&) noexcept;
  LineIndex& operator=(LineIndex&&) noexcept;
  /// Up to `most` lines within `within_m`, nearest first.
  std::vector<NearLine> nearest(Point p, int most,
                                double within_m = std::numeric_limits<double>::infinity()) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

struct NearPoint {
  int point = -1;  ///< index into the points given
  double distance2_m2 = 0;
};

/// Nearest points by a bucket grid; queries are const and safe from many threads.
class PointIndex {
 public:
  explicit PointIndex(std::span<const Point> points);
  ~PointIndex();
  PointIndex(PointIndex&&) noexcept;
  PointIndex& operator=(PointIndex&&) noexcept;
  /// Writes up to `most` points within `within_m` (inclusive) to `found`, ordered by (distance,
  /// index). `found` is cleared first; its capacity is reused.
  void nearest(Point p, int most, double within_m, std::vector<NearPoint>& found) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace evendrip
