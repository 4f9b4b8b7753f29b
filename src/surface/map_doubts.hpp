// SPDX-License-Identifier: Apache-2.0
// What is doubtful about the map of a zone.
#pragma once

#include <string>

#include "evendrip/base/error.hpp"
#include "evendrip/surface/discharge_samples.hpp"

namespace evendrip {

/// Emitters on lines that carry no water in a clean system.
Doubt without_expected_discharge(const std::string& zone, int emitters);
Doubt zone_not_mapped(const std::string& zone, const std::string& why, ReferenceKind reference);
Doubt surface_without_model(const std::string& zone, const std::string& why);

}  // namespace evendrip
