// SPDX-License-Identifier: Apache-2.0
// Parts of what looks wrong in a harvest log; doubts_about() is in logged_records.hpp.
#pragma once

#include <cstddef>
#include <string>

#include "evendrip/crop/harvest_log.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

/// At the row of a record, or of the file where there is none of that number.
Doubt doubt_at(const HarvestLog& log, std::size_t record, std::string column, std::string code,
               std::string text, std::string remedy);

/// Two units in one column, and levels that no crop has.
void tell_units(const HarvestLog& log, const Field& field, Doubts& doubts);

}  // namespace evendrip
