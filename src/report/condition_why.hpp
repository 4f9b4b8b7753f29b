// SPDX-License-Identifier: Apache-2.0
// What moved the estimate: on each dug lateral, and in each low place.
#pragma once

#include "evendrip/io/results.hpp"
#include "evendrip/report/story.hpp"

#include <string>
#include <vector>

#include "evendrip/report/condition_places.hpp"

namespace evendrip {

/// Means over a place of what moved its estimate.
struct Moved {
  std::string place;  ///< lateral or finding
  bool finding = false;
  int zone = -1;
  int segments = 0;
  WaterParts parts;
  double performance = 0;
  double delivery = 0;
  int holes = 0;       ///< in it
  double caught = 0;   ///< their mean relative discharge; NaN for none
  double plugged = 0;  ///< sum of their probabilities of being plugged; NaN where not told
  std::string told;    ///< one sentence
};
/// Dug laterals in the order of the zones and grids, then findings; of places in no judged zone
/// none.
std::vector<Moved> what_moved(const Story& story);

/// condition_why: one row for each.
ResultLayer condition_why_layer(const Story& story);

}  // namespace evendrip
