// SPDX-License-Identifier: Apache-2.0
// What is buried in a made-up field and where: zones, laterals, manifolds and ports by the plan,
// and the same as a Field.
#pragma once

#include "evendrip/field/field.hpp"
#include "evendrip/simulate/truth.hpp"

namespace evendrip {

/// Everything in its place, emitters with their stations; nothing runs yet.
SimulatedField laid_out_field(const SimulationPlan& plan);

/// The system as read_field gives it from the folder, in the frame's CRS; zones, laterals,
/// manifolds and ports have the indices that they have in `field`.
Field system_field(const SimulatedField& field);

}  // namespace evendrip
