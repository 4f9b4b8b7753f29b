// SPDX-License-Identifier: Apache-2.0
// How fast the far ends of a zone run when they are opened.
#pragma once

#include <optional>

#include "evendrip/hydraulics/design_check.hpp"

namespace evendrip {

/// Nothing for lines that are fed from both ends, and for a zone that should have a flush manifold
/// but has none in its network.
std::optional<FlushCheck> flush_check(const Field& field, const ExpectedZone& zone,
                                      const Work& work);

}  // namespace evendrip
