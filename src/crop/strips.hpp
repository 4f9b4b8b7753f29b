// SPDX-License-Identifier: Apache-2.0
// The ground that a lateral waters: half its spacing on both sides, within its zone.
#pragma once

#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

class LateralStrips {
 public:
  explicit LateralStrips(const Field& field) : field_(field) {}

  /// Empty for a lateral without zone, course or spacing.
  MultiPolygon whole(int lateral) const;
  /// Between two stations, m on the ground.
  MultiPolygon between(int lateral, double from_m, double to_m) const;

 private:
  MultiPolygon along(const Lateral& lateral, const Line& line) const;

  const Field& field_;
};

}  // namespace evendrip
