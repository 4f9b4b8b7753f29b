// SPDX-License-Identifier: Apache-2.0
// Lengths on the ground in the field's report units.
#pragma once

#include <string>

#include "evendrip/field/field.hpp"

namespace evendrip {

inline std::string length_words(const Field& field, double m, int digits = 3) {
  return format_quantity(m, Dimension::length, field.report_units, digits);
}

}  // namespace evendrip
