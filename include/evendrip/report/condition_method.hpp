// SPDX-License-Identifier: Apache-2.0
// How the condition was judged, for metadata and notes, and what sheets tell of it.
#pragma once

#include <cstddef>
#include <string>

#include "evendrip/report/story.hpp"

namespace evendrip {

/// One sentence, zone by zone.
std::string condition_method(const Story& story);

/// "F1", "F2" ... through all zones.
std::string fault_name(const FieldCondition& condition, std::size_t zone, std::size_t fault);
/// Where a fault sits on the map.
Point fault_place(const Field& field, const Fault& fault);

}  // namespace evendrip
