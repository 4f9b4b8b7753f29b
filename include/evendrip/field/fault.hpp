// SPDX-License-Identifier: Apache-2.0
// The kinds of fault of a buried line and where one sits.
#pragma once

#include <string>

namespace evendrip {

enum class FaultKind {
  shut,   ///< nothing passes
  pinch,  ///< the bore is narrowed: `severity` is the share of the bore's area that is lost
  cut     ///< an opening: `severity` is its area over that of the bore
};
std::string to_text(FaultKind kind);  ///< "shut", "pinch", "cut"

struct Fault {
  FaultKind kind = FaultKind::pinch;
  bool on_lateral = true;  ///< else on a manifold
  int line = -1;           ///< index into Field::laterals or Field::manifolds
  double station_m = 0;    ///< from the line's first point (a lateral's supply end)
  double severity = 0.5;   ///< 0 to below 1 for a pinch, above 0 for a cut; ignored when shut
};

}  // namespace evendrip
