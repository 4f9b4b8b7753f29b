// SPDX-License-Identifier: Apache-2.0
// The sheets and bare frames of a run.
#pragma once

#include <filesystem>

#include "evendrip/base/work.hpp"
#include "evendrip/report/story.hpp"

namespace evendrip {

/// sheets/*.png and *.pdf, frames/*.png with world files, and the styles beside the GeoTIFFs.
/// Reads the GeoTIFFs of `folder` at the resolution of the page. Returns what is doubtful about the
/// drawing. Throws FileError, Interrupted.
Doubts draw_everything(const Story& story, const std::filesystem::path& folder, const Work& work);

}  // namespace evendrip
