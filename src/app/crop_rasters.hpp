// SPDX-License-Identifier: Apache-2.0
// The GeoTIFFs of the command crop, written block by block.
#pragma once

#include <filesystem>

#include "evendrip/base/work.hpp"
#include "evendrip/report/crop_story.hpp"

namespace evendrip {

/// crop_<id>.tif (bands of the kind, relative_to_field_median and, for a yield log,
/// standard_error), water_part_<id>.tif (the index less what trend, elevation and soil explain,
/// plus 1) and, for several seasons, stability.tif (level, variation). Throws FileError,
/// Interrupted.
void write_heard_rasters(const HeardCrop& heard, const std::filesystem::path& folder,
                         const Work& work);

}  // namespace evendrip
