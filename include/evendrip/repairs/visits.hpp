// SPDX-License-Identifier: Apache-2.0
// Where to walk: the low places as waypoints with short names, in a short walking order.
#pragma once

#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/findings/findings.hpp"
#include "evendrip/io/results.hpp"

namespace evendrip {

struct Visit {
  std::string name;  ///< at most 6 characters, unique: "R01A1"
  int finding = -1;  ///< index into Findings::list
  Point place;       ///< on the nearest lateral inside the finding, else its label point
  int lateral = -1;
  double station_m = 0;
  std::string task;  ///< what to do there, one sentence, with the lateral and station to count from
  std::string caution;
};

struct VisitPlan {
  std::vector<Visit> visits;  ///< in walking order
  double walk_m = 0;          ///< straight lines between them, ground length
  int left_out = 0;           ///< least urgent findings beyond the 99 that a walk can name
};

/// Where the walk starts: the most upstream port, else the start of the first supply manifold, else
/// the south-west corner of the field.
Point walk_start(const Field& field);

/// The most urgent findings (at most 99) are chosen, then ordered for walking from `walk_start`
/// (repairs/route.hpp). A visit stands at the emitter nearest to the middle of the finding, on the
/// nearest part of a lateral inside it; where a hazard's clearance covers that, at the nearest
/// emitter inside the finding that keeps clear, and the caution forbids digging if there is none.
VisitPlan plan_visits(const Field& field, const Findings& findings);
std::vector<Waypoint> waypoints(const Field& field, const Findings& findings,
                                const VisitPlan& plan);

}  // namespace evendrip
