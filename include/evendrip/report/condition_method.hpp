// SPDX-License-Identifier: Apache-2.0
// How the condition was judged, for metadata and notes, and what sheets tell of it.
#pragma once

#include <cstddef>
#include <string>

#include "evendrip/report/story.hpp"

namespace evendrip {

/// One sentence, zone by zone.
std::string condition_method(const Story& story);

/// "along the laterals alike 5 %, ... soil 40 %, the crop's own error 20 %"; empty where the shares
/// of the crop's variance were not worked out.
std::string told_crop_shares(const CropShares& shares);

/// "F1", "F2" ... through all zones.
std::string fault_name(const FieldCondition& condition, std::size_t zone, std::size_t fault);
/// Where a fault sits on the map.
Point fault_place(const Field& field, const Fault& fault);

}  // namespace evendrip
