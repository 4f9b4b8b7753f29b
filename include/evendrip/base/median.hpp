// SPDX-License-Identifier: Apache-2.0
// The median: the mean of the middle two where the number of values is even; 0 of none.
#pragma once

#include <span>
#include <vector>

namespace evendrip {

double median_of(std::vector<double> values);

/// Reorders the values and allocates nothing.
double median_in_place(std::span<double> values);

}  // namespace evendrip
