// SPDX-License-Identifier: Apache-2.0
// Where the crop says to look first, as text and as JSON.
#pragma once

#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "evendrip/crop/patches.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

/// Lines under the label "Look first": the summary, then the places, the first one first; of very
/// many the first dozen.
std::string look_first_text(const Field& field, const CropScreening& screening);

/// The list "look_first" of the JSON schemas.
nlohmann::ordered_json look_first_json(const Field& field, const std::vector<CropPatch>& patches);

}  // namespace evendrip
