// SPDX-License-Identifier: Apache-2.0
// A layer of the crop freed of what cannot be water.
#pragma once

#include <span>

#include "evendrip/crop/evidence.hpp"

namespace evendrip {

/// Takes a pattern, of relative crop and one for each datum, out of the values of a layer. Data
/// without a relative value (crop/crop.hpp, CropSense) stay as they are. Throws
/// std::invalid_argument unless there is one for each.
void take_out(std::span<const double> pattern, CropEvidence& evidence);

}  // namespace evendrip
