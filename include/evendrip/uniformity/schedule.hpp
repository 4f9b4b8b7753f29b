// SPDX-License-Identifier: Apache-2.0
// What sets, interval and season apply as the field is watered now, and how long a set must be so
// that a share of the plants gets its need.
//
// Rate = mean discharge over the ground that one emitter waters (its spacing times that of the
// laterals); depth of a set = rate times set time; sets a season = season's depth over that of a
// set; set time for a share of plants = set time now times (depth factor x need / season's depth
// now), the number of sets unchanged (arithmetic of irrigation scheduling; common practice). Times
// in s, depths in mm.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/uniformity/depth.hpp"

namespace evendrip {

/// What a field states of its watering; what is not stated is nothing.
struct ScheduleFacts {
  std::optional<double> set_time_s;
  std::optional<double> interval_s;  ///< from one set to the next
  std::optional<int> pulses;         ///< into which a set is cut
  std::optional<double> season_depth_mm;
  std::optional<double> season_need_mm;
  std::optional<double> emitter_ground_m2;  ///< that one emitter waters
};

/// The set that gives a share of the plants its need, by one model.
struct ServingSet {
  DepthModel model = DepthModel::normal;
  double served_frac = 0;
  bool possible = false;
  std::optional<double> set_time_s;       ///< at the number of sets of now
  std::optional<double> season_depth_mm;  ///< mean depth applied
  std::optional<double> change_mm;        ///< against the season's depth now; negative: less
};

struct Schedule {
  std::optional<double> rate_mm_h;
  std::optional<double> set_depth_mm;
  std::optional<double> pulse_time_s;
  std::optional<double> pulse_depth_mm;
  std::optional<double> daily_depth_mm;     ///< over the interval
  std::optional<double> sets_in_season;     ///< by the season's depth
  std::optional<double> days_in_season;     ///< of sets at that interval
  std::optional<double> applied_over_need;  ///< season's depth over the need
  std::vector<ServingSet> serving;          ///< as DepthResult::factors
  /// "depth of a set: needs [irrigation] set_time", for each figure that is missing.
  std::vector<std::string> not_computed;
};

/// Facts must be above 0 and finite where they are stated, else std::invalid_argument. Where
/// `depth` is not computed only its reason is told.
Schedule schedule_of(const DepthResult& depth, const ScheduleFacts& facts);

}  // namespace evendrip
