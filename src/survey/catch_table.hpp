// SPDX-License-Identifier: Apache-2.0
// The catch-can table: one record for each row, canonical units, every value checked.
#pragma once

#include <vector>

#include "evendrip/survey/survey.hpp"

namespace evendrip {

struct CatchTable {
  std::vector<CatchRecord> records;
  bool numbers_replicates = false;  ///< the table has a column `replicate`
};

/// discharge = 3.6 volume / duration; grams count as millilitres (water within 0.5 % of 1 g/mL from
/// 0 to 30 degC). Fixes are in the field's CRS, from the survey's datum. Throws InputError for a
/// table that cannot be read at all.
CatchTable catch_table(const Field& field, const SurveySource& source, Doubts& doubts);

}  // namespace evendrip
