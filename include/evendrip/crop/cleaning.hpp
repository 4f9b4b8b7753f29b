// SPDX-License-Identifier: Apache-2.0
// A harvest log cleaned in named steps. Nothing is deleted: each record carries the step that set
// it aside. Each step sees what the steps before it left.
//
// Order and kinds of test: Simbahan, Dobermann & Ping 2004, Agron. J. 96:1091-1102; Vega, Cordoba,
// Castro-Franco & Balzarini 2019, Precision Agric. 20:1030-1044 (both by their abstracts). Here
// grain travel time comes first, because every later test compares neighbours.
//
// Low patches and low strips along laterals are what is looked for, so a yield that is far from the
// rest, or from its neighbours, is set aside only where it stands alone: not where its neighbours
// or its own pass go along with it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/crop/harvest_log.hpp"
#include "evendrip/surface/variogram.hpp"

namespace evendrip {

enum class SetAside : std::uint8_t {
  kept,
  no_value,          ///< no flow, no area, or no grain of that place reached the sensor
  pass_end,          ///< the machine filled or emptied
  narrow_cut,        ///< earlier passes had left too little of the swath
  speed,             ///< too slow, too fast, or a jump
  impossible_yield,  ///< outside what the crop, or the log as a whole, makes possible
  field_edge,
  same_spot,  ///< cut again
  odd_neighbours,
};
std::string to_text(SetAside step);

/// How well neighbouring passes driven in opposite directions agree when values are moved back by a
/// travel time: the less, the better.
struct TravelTime {
  double used_s =
      0;  ///< below 0 for a log that was moved too far, or a cutter ahead of the receiver
  bool estimated = false;  ///< else as given, or 0 where it cannot be told
  std::vector<double> tried_s;
  std::vector<double> disagreement;  ///< relative, one for each tried
  std::string why;                   ///< plain words: what the curve says, or why there is none
};

struct CleaningStep {
  SetAside step = SetAside::kept;
  std::size_t records = 0;  ///< that it set aside
  std::string told;         ///< what, and by which thresholds
  std::string source;       ///< of the test
};

struct CleanedLog {
  std::vector<double> yield_t_ha;  ///< by travel time and true cut width; NaN where no_value
  std::vector<SetAside> step;      ///< of each record
  std::vector<int> pass;           ///< number of its pass, from 0 in order of time
  int passes = 0;
  std::vector<double> heading_deg;  ///< of travel, clockwise from north; NaN where unknown
  std::vector<double> cut_width_m;  ///< that was really cut
  TravelTime travel_time;           ///< of the machine with most records
  std::vector<TravelTime> travel_time_by_machine;  ///< of those with records, by their index
  std::vector<CleaningStep> steps;   ///< in their order; steps that could not be done say why
  std::vector<VariogramLag> before;  ///< moment variogram of the yields as logged
  std::vector<VariogramLag> after;   ///< of those kept
  /// Median difference of records side by side in neighbouring opposite passes, over the median of
  /// their yields; 0 where there are fewer than 10 such pairs.
  double opposite_pass_difference_before = 0;
  double opposite_pass_difference_after = 0;
  std::string summary;
  Doubts doubts;

  std::size_t kept() const;
};

/// Same result for any number of threads.
CleanedLog clean(const Field& field, const HarvestLog& log, const CleaningSettings& settings,
                 const Work& work);

}  // namespace evendrip
