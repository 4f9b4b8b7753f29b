// SPDX-License-Identifier: Apache-2.0
// The GeoTIFFs of a run, written block by block.
#pragma once

#include <filesystem>
#include <functional>

#include "evendrip/base/work.hpp"
#include "evendrip/report/story.hpp"

namespace evendrip {

/// Rows that are computed and written at a time.
inline constexpr int block_rows = 256;

/// Calls body(window, work without progress) for blocks of rows in order; stop requests are heeded,
/// progress is told. Throws Interrupted.
void for_each_block(const Grid& grid, const Work& work,
                    const std::function<void(const Window&, const Work&)>& body);

/// discharge.tif (L/h), relative_discharge.tif, relative_discharge_error.tif (standard error),
/// relative_discharge_limits.tif (bands lower_90, upper_90), probability_below_clogged.tif and
/// probability_below_low.tif (of relative discharge below the thresholds of those names),
/// depth_applied.tif (mm/h) and, where the hydraulics of a zone are computed, pressure.tif (kPa,
/// clean system).
/// Throws FileError, Interrupted.
void write_surface_rasters(const Story& story, const std::filesystem::path& folder,
                           const Work& work);

/// crop_<id>.tif, bands value and relative, for each crop layer.
void write_crop_rasters(const Story& story, const std::filesystem::path& folder, const Work& work);

}  // namespace evendrip
