// SPDX-License-Identifier: Apache-2.0
// Tables that R spdep and nlme write at test time.
#pragma once

#include "../surface/gstat_oracle.hpp"

#include <cstdlib>
#include <filesystem>
#include <optional>
#include <string>

namespace evendrip {

/// Folder of the tables; nothing when R or one of its packages is missing, empty when R failed.
inline std::optional<std::filesystem::path> spdep_tables() {
  namespace fs = std::filesystem;
  const fs::path script = fs::path(EVENDRIP_TEST_DATA) / "crop" / "write_oracles.sh";
  const fs::path folder = fs::path(EVENDRIP_TEST_OUTPUT) / "crop_spdep";
  const std::string run = "bash '" + script.string() + "' '" + folder.string() + "' >/dev/null";
  if (std::system(run.c_str()) != 0) return fs::path();
  if (!fs::exists(folder / "spatial_regression.csv")) return std::nullopt;
  return folder;
}

}  // namespace evendrip
