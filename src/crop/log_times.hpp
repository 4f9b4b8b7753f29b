// SPDX-License-Identifier: Apache-2.0
// Times of a log: numbers of seconds, or ISO 8601 text.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/io/csv.hpp"

namespace evendrip {

/// Seconds of ISO 8601 text: since 1970-01-01 of "2026-05-12T08:30:00", with a fraction, "Z" or an
/// offset where stated (a blank for the T and '/' in the date are read too); since midnight of a
/// mere "08:30:00". Nothing for other text.
std::optional<double> seconds_in(std::string_view text);

/// Column time_<unit> or time (numbers of seconds or ISO 8601 text), s; NaN where empty, empty if
/// there is no such column. Text that is no time becomes a problem.
std::vector<double> time_column(const Table& table, Doubts& problems);

}  // namespace evendrip
