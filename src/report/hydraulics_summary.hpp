// SPDX-License-Identifier: Apache-2.0
// Hydraulics in words and as JSON, for report/summary.hpp.
#pragma once

#include "evendrip/report/story.hpp"

#include <string>

#include <nlohmann/json.hpp>

namespace evendrip {

/// "hydraulics": method, zones, ports, meter, design.
nlohmann::ordered_json hydraulics_json(const Story& story);

/// Paragraphs in the field's report units; empty where no zone is computed.
std::string hydraulics_text(const Story& story);

}  // namespace evendrip
