// SPDX-License-Identifier: Apache-2.0
// The condition of every emitter in words, zone by zone.
#pragma once

#include <string>

#include "evendrip/report/story.hpp"

namespace evendrip {

/// What each zone was judged by and why, the uniformity of the whole system beside the sample's,
/// low places, faults found, shares of the crop's variance, and what is not known. Empty where
/// nothing was judged.
std::string condition_text(const Story& story);

}  // namespace evendrip
