// SPDX-License-Identifier: Apache-2.0
// What has changed in a zone: today's gauges and meter against the commissioning record corrected
// for pressure, else against the modelled clean system, the stated inlet pressure, or one another.
#pragma once

#include <string>
#include <vector>

#include "evendrip/field/commissioning.hpp"
#include "evendrip/findings/zone_states.hpp"
#include "evendrip/hydraulics/meter.hpp"

namespace evendrip {

struct ScreeningInput {
  const Field& field;
  const Survey& survey;
  const Expectation& expectation;
  const std::vector<MeterComparison>& meter;
  const Commissioning* commissioning = nullptr;  ///< none: no record
};

/// One change at most for each kind of evidence. Readings taken while flushing do not count. Flow
/// of a record is corrected by (P/Pref)^x (common practice, from memory). Doubt "filter_loss_high":
/// the filter takes more than 50 kPa (about 7 psi; common practice, no source).
std::vector<Change> zone_changes(const ScreeningInput& input, int zone, Doubts& doubts);

/// A flow of a zone in m3/h or gpm: L/h and gph are for one emitter.
std::string zone_flow_text(double lph, UnitSystem units);

/// Today's readings as a commissioning record: every reading that was not taken while flushing, a
/// port read more than once for the same zones by its mean.
Commissioning record_of(const Field& field, const Survey& survey);

}  // namespace evendrip
