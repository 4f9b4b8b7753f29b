// SPDX-License-Identifier: Apache-2.0
// Samples and bootstrap limits that R boot writes at test time, and how to read them.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <optional>
#include <string>

#include "../surface/gstat_oracle.hpp"

namespace evendrip {

/// Folder of the tables; nothing when R or boot is missing. The fixture of the tests has written
/// them; a test started by hand writes them itself.
inline std::optional<std::filesystem::path> boot_tables() {
  namespace fs = std::filesystem;
  const fs::path script = fs::path(EVENDRIP_TEST_DATA) / "uniformity" / "write_boot_oracles.sh";
  const fs::path folder = fs::path(EVENDRIP_TEST_OUTPUT) / "uniformity_boot";
  const std::string run = "bash '" + script.string() + "' '" + folder.string() + "' >/dev/null";
  if (std::system(run.c_str()) != 0) return fs::path();
  if (!fs::exists(folder / "skewed_studentised.csv")) return std::nullopt;
  return folder;
}

}  // namespace evendrip
