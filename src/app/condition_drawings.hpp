// SPDX-License-Identifier: Apache-2.0
// The sheets of the condition of the emitters.
#pragma once

#include <filesystem>

#include "evendrip/base/work.hpp"
#include "evendrip/report/story.hpp"

namespace evendrip {

/// Sheets and frames of what write_condition_rasters (condition_rasters.hpp) wrote to `folder`, the
/// parts on one sheet, and the styles beside the GeoTIFFs. Nothing where nothing was judged.
/// Returns what is doubtful about the drawing. Throws FileError, Interrupted.
Doubts draw_condition(const Story& story, const std::filesystem::path& folder, const Work& work);

}  // namespace evendrip
