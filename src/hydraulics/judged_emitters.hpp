// SPDX-License-Identifier: Apache-2.0
// Dug emitters against what they should give, and what they and the meter say of a zone's wear.
#pragma once

#include <optional>
#include <vector>

#include "zone_expectation.hpp"

namespace evendrip {

struct JudgedHole {
  JudgedEmitter emitter;
  /// Relative error of the discharge that its pressure asks for; NaN where there is no pressure.
  double pressure_sd_frac = 0;
};

/// The lateral's expectation in its zone; null where there is none.
const ExpectedLateral* lateral_of(const ExpectedZone& zone, int lateral);

/// One for each of Survey::emitters. `works` is one for each zone of the field.
std::vector<JudgedHole> judge_emitters(const Field& field, const Survey& survey,
                                       const std::vector<ZoneWork>& works);

/// Mean performance of the holes of a zone and its standard error. Emitters of one pit are one
/// hole. The scatter between holes is weighed with a prior one of 0.15 worth two holes, so that two
/// equal holes are not taken for certainty (common practice, no source). Holes whose pressure is
/// too uncertain (above 0.1 of the discharge it asks for) are left out. Nothing without holes.
std::optional<WearWitness> witness_of_holes(const Survey& survey,
                                            const std::vector<JudgedHole>& judged, int zone);

/// The meter over what the emitters of the zones it ran would give in the soil at the pressures as
/// they are. Zones run together may differ from each other: 0.1 more (common practice, no source).
/// Nothing without a reading whose zones are all computed.
std::optional<WearWitness> witness_of_meter(const Field& field, const Survey& survey,
                                            const std::vector<ZoneWork>& works, int zone);

/// Both; where they are more than three standard errors apart the holes alone, with the doubt
/// "meter_and_holes_disagree".
std::vector<WearWitness> wear_witnesses(const Field& field, const Survey& survey,
                                        const std::vector<JudgedHole>& judged,
                                        const std::vector<ZoneWork>& works, int zone,
                                        Doubts& doubts);

}  // namespace evendrip
