// SPDX-License-Identifier: Apache-2.0
// The surface in words and as JSON, for report/summary.hpp.
#pragma once

#include "evendrip/report/story.hpp"

#include <string>

#include <nlohmann/json.hpp>

namespace evendrip {

/// "surface": method, grid, zones, candidates, parameters, comparison, wild samples, areas.
nlohmann::ordered_json surface_json(const Story& story);

/// Paragraphs: how each zone is mapped, the candidates, the comparison with other estimators, the
/// ground below the thresholds, and emitters unlike all others.
std::string surface_text(const Story& story);

}  // namespace evendrip
