// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "evendrip/base/median.hpp"

namespace evendrip {

/// Median of the values above 0, so that neither a missing nor an empty one counts; 0 of none.
inline double median_above_zero(std::vector<double> values) {
  std::erase_if(values, [](double v) { return !(v > 0); });
  return median_in_place(values);
}

}  // namespace evendrip
