// SPDX-License-Identifier: Apache-2.0
// The results in words for a person and as JSON for a machine.
#pragma once

#include <string>

#include "evendrip/report/story.hpp"

namespace evendrip {

/// JSON object with "schema": "evendrip-results/1". Numbers in canonical units, which stand in the
/// keys; what is unknown is null.
std::string summary_json(const Story& story);

/// Plain text in the field's report units: uniformity by zone, how the surface was made, low
/// places, what was not computed.
std::string summary_text(const Story& story);

/// "check" for a machine: every doubt as an object, and whether a run would refuse.
std::string doubts_json(const Doubts& doubts);
/// "check" for a person: one line each, problems first, then the counts; many of one kind are cut
/// short (most_of_a_kind).
std::string doubts_text(const Doubts& doubts);

}  // namespace evendrip
