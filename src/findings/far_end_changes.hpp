// SPDX-License-Identifier: Apache-2.0
// The far ends of a zone: all of them against what was expected, and the weakest against the rest.
#pragma once

#include <vector>

#include "compared.hpp"

namespace evendrip {

/// Adds far_end_as_read or far_end_at_inlet, and weakest_end where two or more ends were read.
void add_far_ends(const ScreeningInput& in, int zone, std::vector<Change>& changes);

}  // namespace evendrip
