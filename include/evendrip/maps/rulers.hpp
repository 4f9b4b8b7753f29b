// SPDX-License-Identifier: Apache-2.0
// Round steps for coordinate ticks, colour bars and the scale bar.
//
// Steps are 1, 2 or 5 times a power of ten (common practice, no source). The scale bar is true on
// the ground: a projected length is the ground length times the grid scale factor.
#pragma once

#include <string>
#include <vector>

#include "evendrip/units/quantity.hpp"

namespace evendrip {

/// The smallest round step that cuts `range` into at most `parts` parts; 1 for a range not above 0.
double round_step(double range, int parts);
/// Multiples of the step within [low, high], the ends included within rounding.
std::vector<double> multiples_within(double low, double high, double step);
/// Decimals needed to write multiples of a step exactly, at most 9.
int decimals_of(double step);

struct ScaleBar {
  std::vector<double> marks;  ///< from 0, in `unit`
  std::string unit;           ///< "m", "km", "ft", "mi"
  double unit_m = 1;          ///< length of the unit, m
  double ground_m = 0;        ///< length of the whole bar on the ground
  double paper = 0;  ///< length of the whole bar on paper, in the unit of `paper_per_grid_m`
};
/// The longest round bar that is not longer on paper than `longest`.
ScaleBar scale_bar(double paper_per_grid_m, double scale_factor, double longest, UnitSystem units);

/// The smallest round map scale denominator (1:2500) not below the one given.
double round_denominator(double at_least);

}  // namespace evendrip
