// SPDX-License-Identifier: Apache-2.0
// What in a survey of one zone limits what its uniformity can say.
#pragma once

#include "evendrip/base/error.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// Doubts about the emitters of a zone as a sample:
/// "mixed_test_pressures" where the pressures noted with the catches alone would make discharges
/// differ by more than 5 % by the emitter's exponent (common practice, no source);
/// "more_emitters_than_lateral" where more emitters were placed on a lateral than it has;
/// "many_not_measured" where a tenth or more of those looked for were damaged or not found: if they
/// differ from the rest the figures do too (common practice, no source).
/// Throws std::out_of_range if the field has no such zone.
Doubts judge_sample(const Field& field, const Survey& survey, int zone);

}  // namespace evendrip
