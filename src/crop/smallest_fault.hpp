// SPDX-License-Identifier: Apache-2.0
// The smallest deficit that a layer shows, from what its data see and how well they say it.
#pragma once

#include "evendrip/crop/evidence.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

/// Fills laterals_seen, smallest_width_m, smallest_length_m and told from the rest. `what`: "a
/// pixel of 10 m".
void tell_smallest_fault(const Field& field, const std::string& what, double data_per_m2,
                         CropEvidence& evidence);

/// Standard deviation of single values from second differences (of data evenly apart); 0 for none.
/// Reorders its argument.
double sd_from_second_differences(std::vector<double>& differences);

}  // namespace evendrip
