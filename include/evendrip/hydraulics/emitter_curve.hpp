// SPDX-License-Identifier: Apache-2.0
// What an emitter discharges at a pressure: q = k h^x from the rated pair, pressure-compensating
// ranges, nothing at or below atmospheric pressure.
#pragma once

#include "evendrip/field/field.hpp"

namespace evendrip {

struct EmitterCurve {
  double rated_lph = 0;
  double rated_kpa = 0;  ///< above 0
  double exponent = 0.5;
  double compensating_from_kpa = 0;  ///< both 0: not compensating
  double compensating_to_kpa = 0;
};

/// Throws InputError ("bad_emitter") for a discharge or pressure not above 0, an exponent outside
/// 0-1, a range that does not rise.
EmitterCurve curve_of(const EmitterSpec& spec);

/// L/h. Compensating: rated_lph within the range; below it rated (h/from)^x, above it
/// rated (h/to)^x. Pressure at or below 0 gives 0. From 0 to 0.01 kPa a rising cubic joins, with
/// the value, slope and curvature of the law at 0.01 kPa, so that the slope stays finite.
double discharge_lph(const EmitterCurve& curve, double pressure_kpa);
/// d discharge / d pressure, L/h per kPa; at a corner of a compensating range and at 0 kPa that of
/// the outside.
double discharge_slope(const EmitterCurve& curve, double pressure_kpa);
struct Discharge {
  double lph = 0;
  double slope_lph_kpa = 0;
};
/// Both at once.
Discharge discharge_at(const EmitterCurve& curve, double pressure_kpa);
/// Opening of `area_m2` (a cut, an open end): q = Cd A sqrt(2 g h), Cd 0.62, as a curve with rated
/// pressure 100 kPa. std::invalid_argument unless both are above 0. Cd 0.62: sharp-edged orifice,
/// common practice, no source.
EmitterCurve opening_curve(double area_m2, double discharge_coefficient = 0.62);

}  // namespace evendrip
