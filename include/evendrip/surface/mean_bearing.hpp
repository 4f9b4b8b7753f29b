// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <numbers>

namespace evendrip {

/// Bearing of lines whose direction of flow does not matter: twice the angle, as unit vectors.
struct MeanBearing {
  /// Mean length of the doubled bearings as unit vectors, above which laterals run the same way:
  /// within about 10 degrees.
  static constexpr double same_way = 0.94;
  double x = 0;
  double y = 0;
  double count = 0;

  void add(double bearing_deg) {
    const double twice = bearing_deg * std::numbers::pi / 90;
    x += std::cos(twice);
    y += std::sin(twice);
    ++count;
  }
  bool known() const { return count > 0 && std::hypot(x, y) >= same_way * count; }
  double degrees() const { return std::atan2(y, x) * 90 / std::numbers::pi; }
};

}  // namespace evendrip
