// SPDX-License-Identifier: Apache-2.0
// A made-up field at work: each zone's network is solved as it was new and with its emitters and
// faults as they are.
#pragma once

#include "evendrip/simulate/truth.hpp"

namespace evendrip {

/// Fills pressure, discharge and delivery of every emitter from its performance, pressures of the
/// ports and inflows of the zones. Throws InputError: a zone without a network, or "no_pressure".
SimulatedField running_field(SimulatedField field);

}  // namespace evendrip
