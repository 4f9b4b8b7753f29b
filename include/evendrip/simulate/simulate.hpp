// SPDX-License-Identifier: Apache-2.0
// A field whose truth is known, made from a seed and written as a field folder; to prove what the
// other rooms say. Clearly synthetic.
#pragma once

#include <filesystem>

#include "evendrip/simulate/plan.hpp"

namespace evendrip {

/// Writes the folder: field.toml, layers, survey, crop, truth/emitters.csv (true pressure and
/// discharge of every emitter), plan.toml and README.txt. The same plan gives the same bytes.
/// Throws FileError "folder_not_empty" for a folder that holds anything, or when it cannot be
/// written; InputError for a plan that cannot be made.
void simulate_field(const SimulationPlan& plan, const std::filesystem::path& folder);

}  // namespace evendrip
