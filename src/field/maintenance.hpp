// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// Entries of the field's maintenance log, if it names one; those with a problem are left out, and
/// every problem goes to `doubts`.
std::vector<MaintenanceEntry> maintenance_from(const Field& field, Doubts& doubts);

}  // namespace evendrip
