// SPDX-License-Identifier: Apache-2.0
// What the steps of cleaning a harvest log say, one sentence each, and the sources of their tests.
#pragma once

#include <cstddef>
#include <string>

#include "evendrip/crop/cleaning.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

/// "37 of 4949 records (0.7 %) were set aside because <why>.", or "No record was set aside: none
/// <else>."
std::string told(std::size_t records, std::size_t of, const std::string& why,
                 const std::string& otherwise);

/// Published source of a step's test, and which thresholds have none.
std::string source_of(SetAside step);

/// What a whole cleaning came to.
std::string summary_of(const CleanedLog& cleaned, UnitSystem units);

/// A travel time that could not be told: a doubt where the log is raw, else a note.
Doubt travel_time_doubt(const HarvestLog& log, const std::string& why);

}  // namespace evendrip
