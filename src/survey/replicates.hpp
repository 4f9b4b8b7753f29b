// SPDX-License-Identifier: Apache-2.0
// Records of one emitter become one measured emitter: the mean of its replicates.
#pragma once

#include <string>
#include <vector>

#include "evendrip/survey/survey.hpp"
#include "placing.hpp"

namespace evendrip {

enum class Numbering { numbered, not_numbered };  ///< does the table have a column `replicate`?

/// Emitters in the order of their first records. One place and replicate that stand twice are a
/// problem where replicates are numbered; where they are not, repeated places count as replicates
/// and are told. Records without a place or without a usable value are left out.
std::vector<MeasuredEmitter> measured_emitters(const Field& field,
                                               const std::vector<CatchRecord>& records,
                                               const std::vector<PlacedRecord>& placed,
                                               Numbering numbering, const std::string& file,
                                               Doubts& doubts);

/// Pooled coefficient of variation within emitters: sqrt of the sum of squared relative deviations
/// over the sum of (replicates - 1). 0 if no emitter has two.
double replicate_cv(const std::vector<CatchRecord>& records,
                    const std::vector<MeasuredEmitter>& emitters);

}  // namespace evendrip
