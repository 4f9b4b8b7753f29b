// SPDX-License-Identifier: Apache-2.0
// What the JSON of every report has in common.
#pragma once

#include <nlohmann/json.hpp>

#include <cmath>
#include <optional>

namespace evendrip {

/// The number, or null where it is not known: JSON has no NaN.
inline nlohmann::ordered_json finite(double value) {
  return std::isfinite(value) ? nlohmann::ordered_json(value) : nlohmann::ordered_json(nullptr);
}

inline nlohmann::ordered_json finite(const std::optional<double>& value) {
  return value ? finite(*value) : nlohmann::ordered_json(nullptr);
}

}  // namespace evendrip
