// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/friction.hpp"

#include "evendrip/hydraulics/water.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

namespace evendrip {
namespace {

/// Below it, laws with a slope that vanishes at no flow are a straight line: under 2e-11 m of loss
/// for each metre of pipe of 4 mm or more.
constexpr double still_m_s = 1e-6;

/// Below it Churchill's formula is 64/Re to within 1e-13 of its value.
constexpr double churchill_laminar_below = 1000;

constexpr double blasius_laminar_below = 2000;

/// 4.727 of feet and cubic feet a second, x 0.3048^(4.871 - 3 x 1.852).
constexpr double hazen_williams_si = 10.666829488930054;
constexpr double hazen_williams_flow_exponent = 1.852;
constexpr double hazen_williams_diameter_exponent = 4.871;

double power_of_4(double value) {
  const double square = value * value;
  return square * square;
}

double power_of_16(double value) {
  return power_of_4(power_of_4(value));
}

struct Factor {
  double value;
  double exponent;  ///< d ln value / d ln Re
};

/// Churchill 1977 from Re 1000 up.
Factor churchill(double reynolds, double relative_roughness) {
  const double smooth = std::pow(7 / reynolds, 0.9);
  const double argument = smooth + 0.27 * relative_roughness;
  const double logarithm = -std::log(argument);
  const double a = power_of_16(2.457 * logarithm);
  const double b = power_of_16(37530 / reynolds);
  const double ab = a + b;
  const double laminar_4 = power_of_4(8 / reynolds);
  const double laminar = laminar_4 * laminar_4 * laminar_4;
  const double other = 1 / (ab * std::sqrt(ab));
  const double sum = laminar + other;
  const double a_exponent = 16 * 0.9 * smooth / (argument * logarithm);
  const double ab_exponent = (a * a_exponent - 16 * b) / ab;
  return {8 * std::cbrt(std::sqrt(std::sqrt(sum))),
          (-12 * laminar - 1.5 * other * ab_exponent) / (12 * sum)};
}

Factor blasius(double reynolds) {
  return {0.3164 / std::sqrt(std::sqrt(reynolds)), -0.25};
}

/// 128 nu L / (pi g D^4): loss over flow in laminar flow (Hagen-Poiseuille).
double laminar_slope(double viscosity_m2_s, double length_m, double diameter_m) {
  return 128 * viscosity_m2_s * length_m /
         (std::numbers::pi * gravity_m_s2 * power_of_4(diameter_m));
}

HeadLoss darcy_weisbach(const Factor& factor, double length_m, double diameter_m,
                        double flow_m3_s) {
  const double speed = velocity_m_s(flow_m3_s, diameter_m);
  const double loss = factor.value * length_m / diameter_m * speed * speed / (2 * gravity_m_s2);
  return {loss, loss / flow_m3_s * (2 + factor.exponent)};
}

HeadLoss straight_to(const HeadLoss& end, double end_flow_m3_s, double flow_m3_s) {
  const double slope = end.head_m / end_flow_m3_s;
  return {slope * flow_m3_s, slope};
}

HeadLoss hazen_williams(double c, double length_m, double diameter_m, double flow_m3_s) {
  const double loss = hazen_williams_si * length_m *
                      std::pow(flow_m3_s / c, hazen_williams_flow_exponent) /
                      std::pow(diameter_m, hazen_williams_diameter_exponent);
  return {loss, loss / flow_m3_s * hazen_williams_flow_exponent};
}

/// Laws that are a power of the flow, flow at or above still_m_s.
HeadLoss power_law_loss(const Friction& friction, double length_m, double diameter_m,
                        double flow_m3_s) {
  if (friction.law == FrictionLaw::hazen_williams)
    return hazen_williams(friction.hazen_williams_c, length_m, diameter_m, flow_m3_s);
  const double reynolds = reynolds_number(flow_m3_s, diameter_m, friction.viscosity_m2_s);
  return darcy_weisbach(blasius(reynolds), length_m, diameter_m, flow_m3_s);
}

HeadLoss friction_loss(const Friction& friction, double length_m, double diameter_m,
                       double flow_m3_s) {
  if (friction.law == FrictionLaw::darcy_weisbach || friction.law == FrictionLaw::laminar_blasius) {
    const bool churchills = friction.law == FrictionLaw::darcy_weisbach;
    const double reynolds = reynolds_number(flow_m3_s, diameter_m, friction.viscosity_m2_s);
    if (reynolds < (churchills ? churchill_laminar_below : blasius_laminar_below)) {
      const double slope = laminar_slope(friction.viscosity_m2_s, length_m, diameter_m);
      return {slope * flow_m3_s, slope};
    }
    const Factor factor = churchills
                              ? churchill(reynolds, friction.roughness_mm / 1000 / diameter_m)
                              : blasius(reynolds);
    return darcy_weisbach(factor, length_m, diameter_m, flow_m3_s);
  }
  const double still_flow = still_m_s * std::numbers::pi / 4 * diameter_m * diameter_m;
  if (flow_m3_s >= still_flow) return power_law_loss(friction, length_m, diameter_m, flow_m3_s);
  return straight_to(power_law_loss(friction, length_m, diameter_m, still_flow), still_flow,
                     flow_m3_s);
}

/// k v^2/2g; flow not below 0.
HeadLoss minor_loss(double minor_k, double diameter_m, double flow_m3_s) {
  const double speed_per_flow = velocity_m_s(1, diameter_m);
  const double speed = speed_per_flow * flow_m3_s;
  const double per_speed = minor_k * std::max(speed, still_m_s) / (2 * gravity_m_s2);
  return {per_speed * speed, (speed < still_m_s ? 1 : 2) * per_speed * speed_per_flow};
}

void check_outlets(int outlets, double exponent, double least_exponent) {
  if (outlets < 1) throw std::invalid_argument("a line needs at least one outlet");
  if (!(exponent >= least_exponent) || exponent == 0)
    throw std::invalid_argument("exponent of the flow outside the range of the formula");
}

}  // namespace

std::string to_text(FrictionLaw law) {
  switch (law) {
    case FrictionLaw::darcy_weisbach:
      return "darcy_weisbach";
    case FrictionLaw::laminar_blasius:
      return "laminar_blasius";
    case FrictionLaw::blasius:
      return "blasius";
    case FrictionLaw::hazen_williams:
      return "hazen_williams";
  }
  throw std::invalid_argument("unknown friction law");
}

double churchill_factor(double reynolds, double relative_roughness) {
  if (reynolds < churchill_laminar_below) return 64 / reynolds;
  return churchill(reynolds, relative_roughness).value;
}

HeadLoss head_loss(const Friction& friction, double length_m, double diameter_m, double minor_k,
                   double flow_m3_s) {
  const double flow = std::abs(flow_m3_s);
  HeadLoss loss = friction_loss(friction, length_m, diameter_m, flow);
  loss.head_m *= friction.multiplier;
  loss.slope_s_m2 *= friction.multiplier;
  if (minor_k != 0) {
    const HeadLoss minor = minor_loss(minor_k, diameter_m, flow);
    loss.head_m += minor.head_m;
    loss.slope_s_m2 += minor.slope_s_m2;
  }
  loss.head_m = std::copysign(loss.head_m, flow_m3_s);
  return loss;
}

double velocity_m_s(double flow_m3_s, double diameter_m) {
  return flow_m3_s / (std::numbers::pi / 4 * diameter_m * diameter_m);
}

double reynolds_number(double flow_m3_s, double diameter_m, double viscosity_m2_s) {
  return velocity_m_s(flow_m3_s, diameter_m) * diameter_m / viscosity_m2_s;
}

double multiple_outlet_factor(int outlets, double exponent, double first_fraction) {
  check_outlets(outlets, exponent, 0);
  if (!(first_fraction > 0 && first_fraction <= 1))
    throw std::invalid_argument("the first outlet lies above 0 and up to 1 spacing from the inlet");
  const double n = outlets;
  double sum = 0;
  for (int i = 1; i <= outlets; ++i) sum += std::pow(i / n, exponent);
  return (sum + first_fraction - 1) / (n + first_fraction - 1);
}

double christiansen_factor(int outlets, double exponent) {
  check_outlets(outlets, exponent, 1);
  const double n = outlets;
  return 1 / (exponent + 1) + 1 / (2 * n) + std::sqrt(exponent - 1) / (6 * n * n);
}

double jensen_fratini_factor(int outlets, double exponent) {
  check_outlets(outlets, exponent, 1);
  const double n = outlets;
  return 2 * n / (2 * n - 1) * (1 / (exponent + 1) + std::sqrt(exponent - 1) / (6 * n * n));
}

}  // namespace evendrip
