// SPDX-License-Identifier: Apache-2.0
// Dates as ISO 8601 text: "2026-05-12".
#pragma once

#include <optional>
#include <string_view>

namespace evendrip {

/// Days since 1970-01-01; nothing for what is not four, two and two digits of a day that the
/// calendar has.
std::optional<int> day_number(std::string_view date);

/// Days from one date to another; nothing where either is none.
std::optional<int> days_between(std::string_view from, std::string_view to);

}  // namespace evendrip
