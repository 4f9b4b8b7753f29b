// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/median.hpp"

#include <algorithm>
#include <cstddef>

namespace evendrip {

double median_in_place(std::span<double> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return 0.5 * (*middle + *std::max_element(values.begin(), middle));
}

double median_of(std::vector<double> values) {
  return median_in_place(values);
}

}  // namespace evendrip
