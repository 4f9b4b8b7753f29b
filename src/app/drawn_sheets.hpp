// SPDX-License-Identifier: Apache-2.0
// Sheets as files, for every command that draws some.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/base/work.hpp"
#include "evendrip/maps/sheet.hpp"

namespace evendrip {

/// Cells of a side at which a raster is as fine as the page.
inline constexpr int longest_side_cells = 1500;

struct NamedSheet {
  std::string name;
  Sheet sheet;
};

/// <name>.png and <name>.pdf in `folder`; characters that the bundled font lacks join the doubts: a
/// font of the system draws them. Throws FileError.
void draw_sheet(const NamedSheet& named, const MapResources& resources,
                const std::filesystem::path& folder, Doubts& doubts);

/// The same in `folder`/sheets, and the bare frame with its world file in `folder`/frames.
void draw_sheet_and_frame(const NamedSheet& named, const MapResources& resources,
                          const std::filesystem::path& folder, Doubts& doubts);

/// All of them; stop requests are heeded, progress is told. Throws FileError, Interrupted.
void draw_sheets(const std::vector<NamedSheet>& sheets, const MapResources& resources,
                 const std::filesystem::path& folder, const Work& work, Doubts& doubts);

}  // namespace evendrip
