// SPDX-License-Identifier: Apache-2.0
// A harvest log as it was driven: machine after machine, record after record, with speed and
// heading, and split into passes by gaps of time, jumps of place and turns.
//
// A heading is that from the record before to the one after. A pass ends where the clock runs
// backwards or the next record comes more than three and a half usual intervals later, where the
// place jumps by more than four usual steps, and where two records in a row head more than 60
// degrees away from the last five (thresholds: common practice, no source).
#pragma once

#include <cstddef>
#include <vector>

#include "evendrip/crop/harvest_log.hpp"

namespace evendrip {

struct DrivenLog {
  std::vector<std::size_t> order;    ///< records, machine after machine, as driven
  std::vector<std::size_t> machine;  ///< where each begins in `order`, and the end of the last
  std::vector<double> clock_s;       ///< of each record; empty: not logged
  std::vector<double> distance_m;    ///< as logged or from the places; NaN where unknown
  std::vector<double> speed_m_s;     ///< NaN where unknown
  std::vector<double> heading_deg;   ///< NaN where unknown
  std::vector<int> pass;             ///< in the order of their beginnings
  int passes = 0;
  std::vector<std::size_t> rank;  ///< of each record in the order of all machines' time
  double interval_s = 0;          ///< usual time from record to record; 0: no clock
  double step_m = 0;              ///< usual distance from record to record in a pass
  double swath_m = 0;             ///< of the header: the usual widest that is logged; 0: not logged

  bool has_clock() const { return interval_s > 0; }
  bool has_speed() const { return !speed_m_s.empty(); }
};

/// `scale_factor`: grid over ground length.
DrivenLog driven_log(const HarvestLog& log, double scale_factor);

/// Splits the passes where the header was up: runs of two records or more with `lifted`. Those
/// records keep the number of the pass before them; numbers follow the order of beginnings.
void split_where_lifted(DrivenLog& driven, const std::vector<char>& lifted);

/// Angle between two headings, 0 to 180 degrees; NaN where one is unknown.
double turn_deg(double heading_a_deg, double heading_b_deg);

}  // namespace evendrip
