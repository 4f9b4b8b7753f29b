// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <system_error>

#include "evendrip/base/error.hpp"
#include "evendrip/maps/sheet.hpp"

namespace evendrip {

MapResources find_map_resources() {
  std::error_code error;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", error);
  if (error) {
    throw FileError("map_resources_missing", "/proc/self/exe",
                    "the place of the program cannot be told, so its styles cannot be found");
  }
  const auto shared = program.parent_path().parent_path() / "share" / "evendrip";
  MapResources found{shared / "styles", shared / "fonts" / "DejaVuSans.ttf"};
  if (!std::filesystem::is_directory(found.styles, error) ||
      !std::filesystem::is_regular_file(found.font, error)) {
    throw FileError("map_resources_missing", shared.string(),
                    fmt::format("the styles and fonts of maps are not there (looked in {} and {})",
                                found.styles.string(), found.font.parent_path().string()),
                    "build or install the whole program, not its executable alone");
  }
  return found;
}

}  // namespace evendrip
