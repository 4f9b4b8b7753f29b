// SPDX-License-Identifier: Apache-2.0
#include "evendrip/units/quantity.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "evendrip/base/error.hpp"

namespace evendrip {
namespace {

// NIST SP 811 (2008), appendix B.8. What is exact there is written out from its definition.
constexpr double inch_m = 0.0254;
constexpr double foot_m = 0.3048;
constexpr double survey_foot_m = 1200.0 / 3937.0;
constexpr double mile_m = 1609.344;
constexpr double gallon_l = 3.785411784;  // 231 cubic inches
constexpr double pound_g = 453.59237;
constexpr double short_ton_g = 2000.0 * pound_g;
constexpr double psi_kpa = 4.4482216152605 / (inch_m * inch_m) / 1000.0;
constexpr double gravity = 9.80665;  // standard; a metre of conventional water is 9.80665 kPa
constexpr double acre_m2 = 43560.0 * survey_foot_m * survey_foot_m;
constexpr double acre_foot_ml = acre_m2 * survey_foot_m * 1e6;

struct Unit {
  Dimension dimension;
  std::string_view name;         ///< as reports and messages write it
  double factor;                 ///< canonical = factor * (value - offset)
  double offset = 0;             ///< of the zero point, in this unit
  std::string_view others = "";  ///< further spellings, divided by '|'
};

using enum Dimension;

// The canonical unit of a dimension stands first.
constexpr std::array units{
    Unit{discharge, "L/h", 1, 0, "lph|L/hr"},
    Unit{discharge, "mL/min", 0.06},
    Unit{discharge, "mL/h", 0.001, 0, "mL/hr"},
    Unit{discharge, "gph", gallon_l, 0, "gal/h|gal/hr"},
    Unit{discharge, "gpm", 60 * gallon_l, 0, "gal/min"},
    Unit{discharge, "m3/h", 1000, 0, "m3/hr|m³/h"},
    Unit{discharge, "L/min", 60, 0, "lpm"},
    Unit{discharge, "L/s", 3600},

    Unit{discharge_per_length, "L/h/m", 1, 0, "lph/m|L/h per m"},
    Unit{discharge_per_length, "L/h/100m", 0.01, 0, "L/h/100 m"},
    Unit{discharge_per_length, "gpm/100ft", 60 * gallon_l / (100 * foot_m), 0, "gpm/100 ft"},
    Unit{discharge_per_length, "gph/ft", gallon_l / foot_m},

    Unit{pressure, "kPa", 1},
    Unit{pressure, "bar", 100},
    Unit{pressure, "mbar", 0.1},
    Unit{pressure, "psi", psi_kpa},
    Unit{pressure, "Pa", 0.001},
    Unit{pressure, "MPa", 1000},
    Unit{pressure, "atm", 101.325},
    Unit{pressure, "m", gravity, 0, "m of water|mH2O"},
    Unit{pressure, "ft", gravity* foot_m, 0, "ft of water|ftH2O"},

    Unit{length, "m", 1},
    Unit{length, "mm", 0.001},
    Unit{length, "cm", 0.01},
    Unit{length, "km", 1000},
    Unit{length, "in", inch_m, 0, "inch|inches"},
    Unit{length, "ft", foot_m, 0, "foot|feet"},
    Unit{length, "mil", 0.001 * inch_m, 0, "mils"},
    Unit{length, "yd", 3 * foot_m},
    Unit{length, "mi", mile_m, 0, "mile|miles"},

    Unit{volume, "mL", 1},
    Unit{volume, "L", 1000},
    Unit{volume, "cm3", 1, 0, "cc|cm³"},
    Unit{volume, "m3", 1e6, 0, "m³"},
    Unit{volume, "gal", 1000 * gallon_l},
    Unit{volume, "fl oz", 1000 * gallon_l / 128},
    Unit{volume, "cup", 1000 * gallon_l / 16, 0, "cups"},
    Unit{volume, "acre-inch", acre_foot_ml / 12, 0, "acre-in|ac-in"},
    Unit{volume, "acre-ft", acre_foot_ml, 0, "acre-foot|acre-feet|ac-ft"},
    Unit{volume, "gal_x100", 100000 * gallon_l},

    Unit{mass, "g", 1},
    Unit{mass, "kg", 1000},
    Unit{mass, "lb", pound_g, 0, "lbs"},
    Unit{mass, "oz", pound_g / 16},
    Unit{mass, "t", 1e6},

    Unit{time, "s", 1, 0, "sec|second|seconds"},
    Unit{time, "min", 60, 0, "minute|minutes"},
    Unit{time, "h", 3600, 0, "hr|hour|hours"},
    Unit{time, "d", 86400, 0, "day|days"},
    Unit{time, "ms", 0.001},

    Unit{area, "ha", 1},
    Unit{area, "m2", 1e-4, 0, "m²"},
    Unit{area, "ac", acre_m2 / 1e4, 0, "acre|acres"},
    Unit{area, "ft2", foot_m* foot_m / 1e4, 0, "sq ft|ft²"},
    Unit{area, "km2", 100, 0, "km²"},

    Unit{depth, "mm", 1},
    Unit{depth, "cm", 10},
    Unit{depth, "m", 1000},
    Unit{depth, "in", 1000 * inch_m, 0, "inch|inches"},

    Unit{temperature, "degC", 1, 0, "C|°C"},
    Unit{temperature, "degF", 1 / 1.8, 32, "F|°F"},
    Unit{temperature, "K", 1, 273.15},

    Unit{velocity, "m/s", 1},
    Unit{velocity, "ft/s", foot_m, 0, "fps"},
    Unit{velocity, "km/h", 1 / 3.6},
    Unit{velocity, "mph", mile_m / 3600},

    Unit{depth_rate, "mm/h", 1, 0, "mm/hr"},
    Unit{depth_rate, "in/h", 1000 * inch_m, 0, "in/hr"},

    Unit{yield, "t/ha", 1},
    Unit{yield, "kg/ha", 0.001},
    Unit{yield, "lb/ac", pound_g * 1e-6 / (acre_m2 * 1e-4), 0, "lb/acre|lbs/ac"},
    Unit{yield, "ton/ac", short_ton_g * 1e-6 / (acre_m2 * 1e-4), 0, "ton/acre|tons/ac"},

    Unit{angle, "deg", 1, 0, "°|degree|degrees"},

    Unit{fraction, "frac", 1},
    Unit{fraction, "%", 0.01, 0, "pct|percent"},
};

std::string_view dimension_name(Dimension dimension) {
  constexpr std::array<std::string_view, 15> names{"discharge", "discharge per length",
                                                   "pressure",  "length",
                                                   "volume",    "mass",
                                                   "time",      "area",
                                                   "depth",     "temperature",
                                                   "velocity",  "depth per time",
                                                   "yield",     "an angle",
                                                   "a fraction"};
  return names[static_cast<std::size_t>(dimension)];
}

std::string lower(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view blanks = " \t\r\n";
  const auto first = text.find_first_not_of(blanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

std::vector<std::string_view> spellings(const Unit& unit) {
  std::vector<std::string_view> all{unit.name};
  std::string_view rest = unit.others;
  while (!rest.empty()) {
    const auto bar = rest.find('|');
    all.push_back(rest.substr(0, bar));
    rest = bar == std::string_view::npos ? std::string_view{} : rest.substr(bar + 1);
  }
  return all;
}

/// The unit as a column heading spells it.
std::string heading_spelling(std::string_view name) {
  std::string out;
  for (const char c : lower(name)) {
    if (c == '%') {
      out += "pct";
    } else {
      out += (c == '/' || c == ' ' || c == '-') ? '_' : c;
    }
  }
  return out;
}

template <typename Matches>
const Unit* find_unit(Dimension dimension, const Matches& matches) {
  for (const Unit& unit : units) {
    if (unit.dimension != dimension) continue;
    for (const std::string_view spelling : spellings(unit)) {
      if (matches(spelling)) return &unit;
    }
  }
  return nullptr;
}

const Unit* find_unit(std::string_view name, Dimension dimension) {
  const Unit* exact = find_unit(dimension, [&](std::string_view s) { return s == name; });
  if (exact != nullptr) return exact;
  const std::string folded = lower(name);
  return find_unit(dimension, [&](std::string_view s) { return lower(s) == folded; });
}

std::string accepted_text(Dimension dimension) {
  const std::string list = fmt::format("{}", fmt::join(accepted_units(dimension), ", "));
  if (dimension == fraction) return "a share as \"7 %\", or a bare number from 0 to 1";
  return fmt::format("{}: a number with one of the units {}", dimension_name(dimension), list);
}

[[noreturn]] void refuse(std::string_view text, Dimension dimension, const std::string& why,
                         const std::string& remedy) {
  throw InputError(Doubt{"bad_quantity",
                         Severity::problem,
                         {},
                         why,
                         std::string(text),
                         accepted_text(dimension),
                         remedy});
}

const Unit& unit_or_refuse(std::string_view whole, std::string_view name, Dimension dimension) {
  if (const Unit* unit = find_unit(name, dimension)) return *unit;
  refuse(whole, dimension,
         fmt::format("\"{}\" is not a unit of {}", name, dimension_name(dimension)),
         "Write the unit as listed");
}

struct Number {
  double value;
  std::string_view rest;
};

std::optional<Number> leading_number(std::string_view text) {
  if (!text.empty() && text.front() == '+') text.remove_prefix(1);
  if (text.empty() || std::isalpha(static_cast<unsigned char>(text.front())) != 0) return {};
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || !std::isfinite(value)) return {};
  return Number{value, text.substr(static_cast<std::size_t>(end - text.data()))};
}

double bare_number(std::string_view text, double value, Dimension dimension) {
  if (dimension != fraction) {
    refuse(text, dimension, "the number has no unit", "Write the unit behind the number");
  }
  if (value < 0 || value > 1) {
    refuse(text, dimension, "a share without % lies between 0 and 1", "Write % behind the number");
  }
  return value;
}

/// Fixed notation with `digits` significant digits.
std::string significant(double value, int digits, EndZeros zeros) {
  if (value == 0 || !std::isfinite(value)) return fmt::format("{}", value == 0 ? 0.0 : value);
  const std::string rounded = fmt::format("{:.{}e}", value, std::max(digits, 1) - 1);
  const int exponent = std::stoi(rounded.substr(rounded.find('e') + 1));
  const int decimals = std::max(0, digits - 1 - exponent);
  std::string text = fmt::format("{:.{}f}", std::stod(rounded), decimals);
  if (decimals > 0 && zeros == EndZeros::dropped) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  return text;
}

}  // namespace

double parse_quantity(std::string_view text, Dimension dimension) {
  const std::string_view body = trimmed(text);
  const std::optional<Number> number = leading_number(body);
  if (!number) {
    refuse(text, dimension, "this is no quantity: it does not begin with a number",
           "Write a number and its unit");
  }
  const std::string_view name = trimmed(number->rest);
  if (name.empty()) return bare_number(text, number->value, dimension);
  if (name.front() == ',') {
    refuse(text, dimension, "a comma stands in the number", "Write the decimals behind a point");
  }
  const Unit& unit = unit_or_refuse(text, name, dimension);
  return unit.factor * (number->value - unit.offset);
}

double to_canonical(double value, std::string_view unit, Dimension dimension) {
  const Unit& found = unit_or_refuse(unit, unit, dimension);
  return found.factor * (value - found.offset);
}

double from_canonical(double value, std::string_view unit, Dimension dimension) {
  const Unit& found = unit_or_refuse(unit, unit, dimension);
  return value / found.factor + found.offset;
}

std::string_view report_unit(Dimension dimension, UnitSystem system) {
  const bool metric = system == UnitSystem::metric;
  switch (dimension) {
    case discharge:
      return metric ? "L/h" : "gph";
    case discharge_per_length:
      return metric ? "L/h/m" : "gpm/100ft";
    case pressure:
      return metric ? "kPa" : "psi";
    case length:
      return metric ? "m" : "ft";
    case volume:
      return metric ? "mL" : "fl oz";
    case mass:
      return metric ? "g" : "oz";
    case time:
      return "s";
    case area:
      return metric ? "ha" : "ac";
    case depth:
      return metric ? "mm" : "in";
    case temperature:
      return metric ? "degC" : "degF";
    case velocity:
      return metric ? "m/s" : "ft/s";
    case depth_rate:
      return metric ? "mm/h" : "in/h";
    case yield:
      return metric ? "t/ha" : "lb/ac";
    case angle:
      return "deg";
    case fraction:
      return "%";
  }
  return "";
}

std::string format_quantity(double canonical, Dimension dimension, UnitSystem system, int digits,
                            EndZeros zeros) {
  const std::string_view unit = report_unit(dimension, system);
  return fmt::format("{} {}",
                     significant(from_canonical(canonical, unit, dimension), digits, zeros), unit);
}

std::vector<std::string_view> accepted_units(Dimension dimension) {
  std::vector<std::string_view> names;
  for (const Unit& unit : units) {
    if (unit.dimension == dimension) names.push_back(unit.name);
  }
  return names;
}

Heading parse_heading(std::string_view heading, std::string_view stem, Dimension dimension) {
  Heading result{std::string(stem), {}, dimension};
  const std::string folded = lower(trimmed(heading));
  const std::string start = lower(stem) + '_';
  if (folded.size() <= start.size() || folded.compare(0, start.size(), start) != 0) return result;
  const std::string ending = folded.substr(start.size());
  const Unit* unit = find_unit(
      dimension, [&](std::string_view spelling) { return heading_spelling(spelling) == ending; });
  if (unit != nullptr) result.unit = unit->name;
  return result;
}

}  // namespace evendrip
