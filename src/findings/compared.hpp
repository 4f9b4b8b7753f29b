// SPDX-License-Identifier: Apache-2.0
// Parts that every comparison of a reading with its reference needs.
#pragma once

#include <optional>
#include <string>

#include "evendrip/findings/zone_changes.hpp"
#include "port_readings.hpp"

namespace evendrip {

/// Stated inlet pressures are round numbers; common practice, no source.
inline constexpr double statement_sd_frac = 0.05;
/// Zones run this near to the rated pressure of their emitters; common practice, no source.
inline constexpr double rated_pressure_sd_frac = 0.3;

const Zone& zone_of(const ScreeningInput& in, int zone);
/// x of q = k h^x at a pressure: near 0 within a compensating range.
double flow_exponent(const Zone& zone, double kpa);

/// Inlet pressure that field.toml states, else the rated one of the emitters, which says less.
Reading stated_inlet(const Zone& zone);

std::string pressure_text(const ScreeningInput& in, double kpa);
/// "at commissioning (2024-04-02)"
std::string of_record(const ScreeningInput& in);

/// A reading and what it is compared with, both with errors.
struct Compared {
  Reading reading;
  Reading reference;
};
Change ratio_change(Evidence evidence, const Compared& both, Change::Against against);

/// The zone's inlet today, and at commissioning by the same gauge.
struct InletReadings {
  int port = -1;
  std::optional<Reading> today;
  std::optional<Reading> record;
};
InletReadings inlet_of(const ScreeningInput& in, int zone);

}  // namespace evendrip
