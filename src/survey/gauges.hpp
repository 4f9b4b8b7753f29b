// SPDX-License-Identifier: Apache-2.0
// Pressure readings at ports and readings of flow meters.
#pragma once

#include <vector>

#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// Throws InputError for a table that cannot be read at all.
std::vector<PressureReading> pressure_readings(const Field& field, const SurveySource& source,
                                               Doubts& doubts);

/// Flow as stated, or from two register readings and the time between them.
std::vector<MeterReading> meter_readings(const Field& field, const SurveySource& source,
                                         Doubts& doubts);

}  // namespace evendrip
