// SPDX-License-Identifier: Apache-2.0
// Layers of results.gpkg that the condition of the emitters fills.
#pragma once

#include "evendrip/io/results.hpp"
#include "evendrip/report/story.hpp"

#include <vector>

namespace evendrip {

/// condition_emitters (every emitter of a zone that is told, made row by row), condition_segments
/// with the parts that moved each, condition_zones, condition_crop_layers, network_faults,
/// condition_why (what moved the estimate on each dug lateral and in each low place). None where
/// nothing was judged. They refer to the story, which must outlive them.
std::vector<ResultLayer> condition_layers(const Story& story);

}  // namespace evendrip
