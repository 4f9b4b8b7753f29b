// SPDX-License-Identifier: Apache-2.0
// What gauges and meter of a made-up field show, on the day of the survey and when the system was
// new; each zone runs alone, its emitters buried.
#pragma once

#include <string>

#include "evendrip/field/commissioning.hpp"
#include "evendrip/simulate/truth.hpp"

namespace evendrip {

/// A pressure in the unit of the plan's system (kPa or psi), without the unit, with the digits that
/// a gauge shows.
std::string pressure_text(const SimulationPlan& plan, double kpa);

/// The two tables of the survey in the units of the plan. Every port is read once while each of its
/// zones runs.
std::string pressure_table(const SimulatedField& field);
std::string meter_table(const SimulatedField& field);

/// Read with the same instruments when the system was new, on the plan's commissioning date.
Commissioning commissioning_record(const SimulatedField& field);

}  // namespace evendrip
