// SPDX-License-Identifier: Apache-2.0
// The condition of every emitter as a part of the JSON of a run.
#pragma once

#include "evendrip/report/story.hpp"

#include <nlohmann/json.hpp>

namespace evendrip {

/// "condition", as src/report/schemas/condition-1.schema.json says; null where nothing was judged.
nlohmann::ordered_json condition_json(const Story& story);

}  // namespace evendrip
