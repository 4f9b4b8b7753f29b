// SPDX-License-Identifier: Apache-2.0
// The GeoTIFFs of the command crop, written block by block.
#pragma once

#include <filesystem>
#include <string>

#include "evendrip/base/work.hpp"
#include "evendrip/report/crop_story.hpp"

namespace evendrip {

/// crop_<id>.tif (bands of the kind, relative_to_field_median and, for a yield log,
/// standard_error), water_part_<id>.tif (the index less what trend, elevation and soil explain,
/// plus 1) and, for several dates or seasons joined, stability.tif of yields and stability_<id>.tif
/// of others (level, variation, low_dates). Throws FileError, Interrupted.
void write_heard_rasters(const HeardCrop& heard, const std::filesystem::path& folder,
                         const Work& work);

/// Name of a file on joined dates: `what` alone for yields.
std::string over_dates_name(const std::string& what, const CropOverDates& joined);

}  // namespace evendrip
