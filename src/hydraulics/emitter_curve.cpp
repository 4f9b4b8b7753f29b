// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/emitter_curve.hpp"

#include "evendrip/base/error.hpp"
#include "evendrip/hydraulics/water.hpp"

#include <fmt/format.h>

#include <cmath>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr double joint_kpa = 0.01;

Doubt problem(const std::string& column, const std::string& text, const std::string& found,
              const std::string& expected) {
  return Doubt{"bad_emitter",
               Severity::problem,
               Place{"", "", 0, column},
               text,
               found,
               expected,
               "Take the rated pair and the exponent from the emitter's data sheet."};
}

void check_above_zero(Doubts& problems, const std::string& column, double value,
                      const std::string& text) {
  if (std::isfinite(value) && value > 0) return;
  problems.push_back(problem(column, text, fmt::format("{}", value), "a number above 0"));
}

struct Power {
  double discharge_lph;
  double exponent;  ///< d ln discharge / d ln pressure
};

double power(double ratio, double exponent) {
  return exponent == 0.5 ? std::sqrt(ratio) : std::pow(ratio, exponent);
}

/// The law above the joint at zero.
Power power_law(const EmitterCurve& curve, double pressure_kpa) {
  double reference_kpa = curve.rated_kpa;
  if (curve.compensating_to_kpa > 0) {
    const double from = curve.compensating_from_kpa;
    const double to = curve.compensating_to_kpa;
    if (pressure_kpa > from && pressure_kpa < to) return {curve.rated_lph, 0};
    reference_kpa = pressure_kpa <= from ? from : to;
  }
  return {curve.rated_lph * power(pressure_kpa / reference_kpa, curve.exponent), curve.exponent};
}

/// Between 0 and the joint: a cubic in the share t of the way, 0 at t = 0, that meets the law with
/// its value, slope and curvature; in the unit of the law's value at the joint. Rising for every
/// exponent from 0 to 1, where its slope at 0 is between 3 and 1.
struct Joint {
  double linear, square, cube;
};

Joint joint(double exponent) {
  const double start = (2 - exponent) * (3 - exponent) / 2;
  return {start, 3 - 2 * start - exponent, start + exponent - 2};
}

}  // namespace

EmitterCurve curve_of(const EmitterSpec& spec) {
  Doubts problems;
  check_above_zero(problems, "discharge", spec.discharge_lph,
                   "the rated discharge of the emitter cannot be used");
  check_above_zero(problems, "pressure", spec.pressure_kpa,
                   "the pressure at which the emitter is rated cannot be used");
  if (!(spec.exponent >= 0 && spec.exponent <= 1))
    problems.push_back(problem("exponent", "the emitter's exponent cannot be used",
                               fmt::format("{}", spec.exponent), "0 to 1"));
  EmitterCurve curve{spec.discharge_lph, spec.pressure_kpa, spec.exponent, 0, 0};
  if (spec.pressure_compensating_kpa) {
    const auto [from, to] = *spec.pressure_compensating_kpa;
    if (!(from >= 0 && to > from && std::isfinite(to)))
      problems.push_back(problem("pressure_compensating", "the compensating range cannot be used",
                                 fmt::format("{} to {} kPa", from, to),
                                 "two pressures from 0 up that rise"));
    curve.compensating_from_kpa = from;
    curve.compensating_to_kpa = to;
  }
  throw_if_problem(problems);
  return curve;
}

Discharge discharge_at(const EmitterCurve& curve, double pressure_kpa) {
  if (pressure_kpa <= 0) return {};
  if (pressure_kpa >= joint_kpa) {
    const Power law = power_law(curve, pressure_kpa);
    return {law.discharge_lph, law.exponent * law.discharge_lph / pressure_kpa};
  }
  const Power end = power_law(curve, joint_kpa);
  const Joint cubic = joint(end.exponent);
  const double t = pressure_kpa / joint_kpa;
  return {
      end.discharge_lph * t * (cubic.linear + t * (cubic.square + t * cubic.cube)),
      end.discharge_lph / joint_kpa * (cubic.linear + t * (2 * cubic.square + t * 3 * cubic.cube))};
}

double discharge_lph(const EmitterCurve& curve, double pressure_kpa) {
  return discharge_at(curve, pressure_kpa).lph;
}

double discharge_slope(const EmitterCurve& curve, double pressure_kpa) {
  return discharge_at(curve, pressure_kpa).slope_lph_kpa;
}

EmitterCurve opening_curve(double area_m2, double discharge_coefficient) {
  if (!(area_m2 > 0 && discharge_coefficient > 0))
    throw std::invalid_argument("an opening needs an area and a coefficient above 0");
  constexpr double rated_kpa = 100;
  constexpr double lph_per_m3_s = 3.6e6;
  const double jet_m_s = std::sqrt(2 * gravity_m_s2 * head_m(rated_kpa));
  return {discharge_coefficient * area_m2 * jet_m_s * lph_per_m3_s, rated_kpa, 0.5, 0, 0};
}

}  // namespace evendrip
