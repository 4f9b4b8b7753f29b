// SPDX-License-Identifier: Apache-2.0
// Is a value believable, and if not, which slip of units would explain it? Ranges are common
// practice for drip irrigation, no source; a range is wide enough that a value outside it deserves
// a second look, never so narrow that it stops honest work.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/units/quantity.hpp"

namespace evendrip {

/// A number written with one unit though another was meant: "psi" for "kPa".
struct UnitSlip {
  std::string_view written;
  std::string_view meant;
};

/// Canonical unit of `dimension`. Outside `usual` is a doubt, outside `possible` a problem.
struct PlausibleRange {
  Dimension dimension = Dimension::length;
  double possible_low = 0;
  double possible_high = 0;
  double usual_low = 0;
  double usual_high = 0;
  std::vector<UnitSlip> slips;
};

/// The first slip that would bring the value into the usual range.
std::optional<UnitSlip> slip_of(double value, const PlausibleRange& range);

/// Nothing for a usual value; else a Doubt "implausible_value", or "wrong_unit" where a slip
/// explains it. Not finite is a problem.
std::optional<Doubt> implausible(double value, const PlausibleRange& range, Place place,
                                 const std::string& found);

}  // namespace evendrip
