// SPDX-License-Identifier: Apache-2.0
// At which emitter was each record taken?
//
// The declared place and the fix are weighed: p(lateral) is proportional to its prior (0.98 on the
// declared one, the rest shared by the others near; equal where none is declared) times the
// Gaussian likelihood of the distance from the fix to the lateral, with variance fix accuracy^2 +
// position accuracy of the lateral^2 + variance of the day's common shift. Bayes' rule; the priors
// and the limit of 0.95 are conventions of this program.
#pragma once

#include <string>
#include <vector>

#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// The error that fixes of one receiver on one day share: median difference, in each axis, of
/// fixes and declared places. Needs three records; fewer give no shift.
struct CommonShift {
  Point shift_m;
  double sd_m = 0;  ///< of the shift, each axis
  int records = 0;
  double scatter_m = 0;  ///< of one fix about the shift, each axis
};
CommonShift common_shift(const Field& field, const std::vector<CatchRecord>& records);

/// The place of one record.
struct PlacedRecord {
  Site site;
  Placement placement = Placement::outside;
  double lateral_probability = 0;
  double position_sd_m = 0;
};

/// One for each record. Unknown laterals, stations and emitters beyond the end, missing places are
/// problems; contradictions, ambiguous fixes and places outside every zone are doubts.
std::vector<PlacedRecord> placed_records(const Field& field,
                                         const std::vector<CatchRecord>& records,
                                         const CommonShift& shift, const std::string& file,
                                         Doubts& doubts);

}  // namespace evendrip
