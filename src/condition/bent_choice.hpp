// SPDX-License-Identifier: Apache-2.0
// Whether a crop answers to water only up to what it needs: a response that is flat beyond.
//
// Flat beyond all and beyond nine tenths of a clean system's delivery are tried (common practice,
// no source), each bent about the straight estimate and, where it is likelier so, fitted again; in
// a large zone by its coarser model. One is taken where the log posterior of the parameters gains
// more than 3 (Schwarz 1978, Ann. Stat. 6:461-464, from memory, for the one place of the kink and
// the choice), or where it gains and laterals left out are foretold better by more than the
// standard error of that, laterals as the units.
#pragma once

#include <optional>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/plugged_holes.hpp"

namespace evendrip {

struct BentChoice {
  CropKink kink;
  double gain = 0;         ///< in log posterior over the straight response
  double score_gain = 0;   ///< in the log score of a hole of a lateral left out
  double score_error = 0;  ///< of it
};

/// Nothing where the straight response stays; else the model is bent and the condition is that of
/// the bent one.
std::optional<BentChoice> choose_bend(ZoneModel& model, double plugged_below,
                                      ZoneCondition& condition, const Work& work);

}  // namespace evendrip
