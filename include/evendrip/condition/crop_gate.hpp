// SPDX-License-Identifier: Apache-2.0
// Whether the crop may speak: only where it makes laterals that were left out better foretold.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/condition/plugged_holes.hpp"

namespace evendrip {

/// How holes are foretold from the other laterals' holes and, if the model has it, the crop: an
/// emitter of the place may be plugged, clogged or sound (clogging.hpp).
struct LeftOutScore {
  double log_score = 0;  ///< mean of minus the log density of a hole; lower is better
  double ranked = 0;     ///< mean continuous ranked probability score, likewise
  double rmse = 0;
  double holes = 0;
  std::vector<double> log_scores;  ///< of each hole
};
/// The parameters are held, and so are widths of laterals but for what the holes left out told of
/// them; the holes of each lateral are left out together and foretold one after the other, each
/// from the other laterals and those before it: they agree or not. Scores: Gneiting & Raftery 2007,
/// J. Am. Stat. Assoc. 102:359-378 (from memory).
LeftOutScore laterals_left_out(const ZoneModel& model, const ConditionParameters& parameters,
                               const Clogging& clogging);

/// Mean log score that a hole gains, and its standard error with laterals as the units.
struct ScoreGain {
  double mean = 0;
  double error = 0;
};
ScoreGain gain_of(const std::vector<HoleDatum>& holes, const LeftOutScore& from,
                  const LeftOutScore& to);

/// A zone judged with its crop if that helps, else by its holes alone.
struct ZoneJudgement {
  ZoneCondition condition;
  bool crop_used = false;
  bool verified = false;  ///< there were holes to verify the crop with
  LeftOutScore with_crop;
  LeftOutScore without_crop;
  double gain = 0;        ///< mean log score that the crop gains for a hole
  double gain_error = 0;  ///< its standard error, laterals as the units
  std::string why;        ///< plain words
};
/// The crop is used where the log score gains more by it than the standard error of the gain, or
/// all holes together gain more than the logarithm of 20: a crop that has nothing to do with the
/// holes does so in one of twenty zones at most (Markov's inequality), and a gain that comes from
/// the one low lateral that was dug never exceeds its standard error. In either case the ranked
/// score must be better as well: a crop at odds with the holes foretells next to anything, which
/// the log score may take for skill. With holes on fewer than three laterals nothing can be
/// verified: then the crop is not used for r, and `why` says so. Nothing where no parameters work.
std::optional<ZoneJudgement> judge_zone(const SegmentGrid& grid,
                                        const std::vector<HoleDatum>& holes,
                                        const std::vector<CropDatum>& crop,
                                        const ConditionRanges& ranges, double plugged_below,
                                        const Work& work = {}, const CropKink& kink = {});

}  // namespace evendrip
