// SPDX-License-Identifier: Apache-2.0
// Satellite fixes of a table in the field's CRS.
#pragma once

#include <vector>

#include "evendrip/survey/survey.hpp"
#include "table_reading.hpp"

namespace evendrip {

/// Fills `fix` and `fix_accuracy_m` of the records (one for each row) from lat + lon in the
/// survey's datum, or easting + northing in the field's CRS. Latitude and longitude that fit only
/// when swapped are one problem, and are read as meant so that later checks speak of the right
/// place.
void read_fixes(TableReading& table, const Field& field, const SurveySource& source,
                std::vector<CatchRecord>& records);

}  // namespace evendrip
