// SPDX-License-Identifier: Apache-2.0
// Crop layers of several dates as one: told in words and as tables.
#pragma once

#include <string>
#include <vector>

#include "evendrip/report/crop_story.hpp"

namespace evendrip {

/// Lines of the report, one paragraph for each; empty if nothing is joined.
std::string over_dates_text(const HeardCrop& heard);

/// Layers crop_dates, zones_over_dates and laterals_over_dates.
std::vector<ResultLayer> over_dates_layers(const HeardCrop& heard);

}  // namespace evendrip
