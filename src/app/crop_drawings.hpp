// SPDX-License-Identifier: Apache-2.0
// The sheets and plots of the command crop.
#pragma once

#include <filesystem>

#include "evendrip/base/work.hpp"
#include "evendrip/report/crop_story.hpp"

namespace evendrip {

/// sheets/*.png and *.pdf, and the styles beside the GeoTIFFs. Returns what is doubtful about the
/// drawing. Throws FileError, Interrupted.
Doubts draw_heard(const HeardCrop& heard, const std::filesystem::path& folder, const Work& work);

}  // namespace evendrip
