// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// Laterals of a zone that have a length and a course, from one side to the other.
std::vector<int> ordered_laterals(const Field& field, int zone);

}  // namespace evendrip
