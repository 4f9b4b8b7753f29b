// SPDX-License-Identifier: Apache-2.0
// The sections [[crop]] of field.toml.
#pragma once

#include <filesystem>
#include <vector>

#include "evendrip/field/crop_source.hpp"
#include "evendrip/io/toml.hpp"

namespace evendrip {

std::vector<CropSource> crops_from(TomlReader& root, const std::filesystem::path& folder,
                                   Doubts& doubts);

}  // namespace evendrip
