// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "evendrip/crop/patches.hpp"

namespace evendrip {

/// One sentence: what a patch looks like and what to look at first.
std::string patch_words(const Field& field, const CropPatch& patch);
std::string screening_words(const Field& field, const std::vector<CropPatch>& patches);

}  // namespace evendrip
