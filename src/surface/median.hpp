// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

namespace evendrip {

/// The mean of the middle two where the number is even; 0 of none.
inline double median_of(std::vector<double> values) {
  if (values.empty()) return 0;
  const auto half = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), half, values.end());
  if (values.size() % 2 == 1) return *half;
  return (*std::max_element(values.begin(), half) + *half) / 2;
}

}  // namespace evendrip
