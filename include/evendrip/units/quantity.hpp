// SPDX-License-Identifier: Apache-2.0
// Quantities with units as text, to and from the canonical units: L/h, kPa, m, mL, s, ha, mm, degC.
//
// Every conversion factor of the program stands in src/units/quantity.cpp. Factors: NIST Special
// Publication 811 (2008), appendix B.8; US survey foot 1200/3937 m; water column at 4 degC is not
// used, "m of water" is 9.80665 kPa (conventional).
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace evendrip {

/// What a number measures; the canonical unit stands beside it.
enum class Dimension {
  discharge,             ///< L/h: L/h, mL/min, mL/h, gph, gpm, m3/h, L/min, L/s
  discharge_per_length,  ///< L/h per m: L/h/m, gpm/100ft, L/h/100m, gph/ft
  pressure,              ///< kPa: kPa, bar, mbar, psi, Pa, MPa, atm, m (of water), ft (of water)
  length,                ///< m: m, mm, cm, km, in, ft, mil, yd, mi
  volume,                ///< mL: mL, L, cm3, m3, gal, fl oz, cup, acre-inch, acre-ft, gal_x100
  mass,                  ///< g: g, kg, lb, oz, t
  time,                  ///< s: s, min, h, d, ms
  area,                  ///< ha: ha, m2, ac, ft2, km2
  depth,                 ///< mm: mm, cm, m, in
  temperature,           ///< degC: C, degC, F, degF, K
  velocity,              ///< m/s: m/s, ft/s, km/h, mph
  depth_rate,            ///< mm/h: mm/h, in/h
  yield,                 ///< t/ha: t/ha, kg/ha, lb/ac, ton/ac (US short ton)
  angle,                 ///< degrees: deg
  fraction               ///< 0 to 1: %, or bare number
};

enum class UnitSystem { metric, us };

/// A quantity written as text ("1.06 gph", "15 psi", "0.9 bar", "40 ac"), in the canonical unit of
/// `dimension`. Spaces between number and unit are optional; letter case matters only where two
/// units differ by it. Throws InputError (code "bad_quantity") naming the text and the units
/// accepted; a number without a unit is refused except for a Dimension::fraction from 0 to 1.
double parse_quantity(std::string_view text, Dimension dimension);

/// `value` of unit `unit` in the canonical unit. Throws InputError for a unit that is not of the
/// dimension.
double to_canonical(double value, std::string_view unit, Dimension dimension);
double from_canonical(double value, std::string_view unit, Dimension dimension);

/// The unit in which reports of `system` state a dimension: "L/h" or "gph", "kPa" or "psi", ...
std::string_view report_unit(Dimension dimension, UnitSystem system);

/// Zeros that end the decimals of a number.
enum class EndZeros {
  dropped,  ///< "1 L/h": in running text
  kept      ///< "1.00 L/h": in columns, where the digits tell how well the number is known
};

/// Number and unit with `digits` significant digits, readable again by parse_quantity.
std::string format_quantity(double canonical, Dimension dimension, UnitSystem system,
                            int digits = 4, EndZeros zeros = EndZeros::dropped);

/// Units accepted for a dimension, canonical unit first.
std::vector<std::string_view> accepted_units(Dimension dimension);

/// A column heading or key whose ending is a unit: "volume_ml", "pressure_psi", "flow_m3_h",
/// "yield_t_ha", "moisture_pct", "diameter_mm".
struct Heading {
  std::string name;       ///< without the unit: "volume"
  std::string_view unit;  ///< a unit of accepted_units(dimension)
  Dimension dimension;
};

/// Reads "<stem>_<unit>" where stem is given and the ending is a unit of the dimension in heading
/// spelling (lower case, '/' as '_', '%' as 'pct'); an empty unit if the heading is not of that
/// form.
Heading parse_heading(std::string_view heading, std::string_view stem, Dimension dimension);

}  // namespace evendrip
