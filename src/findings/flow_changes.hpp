// SPDX-License-Identifier: Apache-2.0
// The metered flow of a zone against its record, the model or the emitters' rating.
#pragma once

#include <vector>

#include "compared.hpp"

namespace evendrip {

/// Adds flow_at_pressure where every inlet was read, else flow_as_metered; nothing without a meter.
void add_flow(const ScreeningInput& in, int zone, std::vector<Change>& changes);

}  // namespace evendrip
