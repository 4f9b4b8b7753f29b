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

/// (1 + x)^(1/12) for x >= 0; the series leaves out less than 1e-17.
double twelfth_root_of_1_and(double x) {
  if (x < 1e-4) return 1 + x * (1.0 / 12 - x * (11.0 / 288 - x * (253.0 / 10368)));
  return std::cbrt(std::sqrt(std::sqrt(1 + x)));
}

/// Churchill 1977 from Re 1000 up: 8 [(8/Re)^12 + (A + B)^-1.5]^(1/12) with
/// A = [-2.457 ln((7/Re)^0.9 + 0.27 e/D)]^16 and B = (37530/Re)^16, written as
/// 8 (A + B)^(-1/8) (1 + r)^(1/12) with r = (8/Re)^12 (A + B)^1.5.
Factor churchill(double reynolds, double relative_roughness) {
  const double inverse = 1 / reynolds;
  const double smooth = std::exp(0.9 * std::log(7 * inverse));
  const double argument = smooth + 0.27 * relative_roughness;
  const double logarithm = -std::log(argument);
  const double a = power_of_16(2.457 * logarithm);
  const double b = power_of_16(37530 * inverse);
  const double ab = a + b;
  const double root_ab = std::sqrt(ab);
  const double laminar_4 = power_of_4(8 * inverse);
  const double laminar_share = laminar_4 * laminar_4 * laminar_4 * ab * root_ab;
  const double a_exponent = 16 * 0.9 * smooth / (argument * logarithm);
  const double ab_exponent = (a * a_exponent - 16 * b) / ab;
  return {8 * twelfth_root_of_1_and(laminar_share) / std::sqrt(std::sqrt(root_ab)),
          -(laminar_share + ab_exponent / 8) / (1 + laminar_share)};
}

Factor blasius(double reynolds) {
  return {0.3164 / std::sqrt(std::sqrt(reynolds)), -0.25};
}

/// 128 nu L / (pi g D^4): loss over flow in laminar flow (Hagen-Poiseuille).
double laminar_slope(double viscosity_m2_s, double length_m, double diameter_m) {
  return 128 * viscosity_m2_s * length_m /
         (std::numbers::pi * gravity_m_s2 * power_of_4(diameter_m));
}

HeadLoss straight_to(const HeadLoss& end, double end_flow_m3_s, double flow_m3_s) {
  const double slope = end.head_m / end_flow_m3_s;
  return {slope * flow_m3_s, slope};
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

PipeLoss::PipeLoss(const Friction& friction, double length_m, double diameter_m, double minor_k)
    : law_(friction.law),
      multiplier_(friction.multiplier),
      relative_roughness_(friction.roughness_mm / 1000 / diameter_m),
      reynolds_per_flow_(reynolds_number(1, diameter_m, friction.viscosity_m2_s)),
      laminar_slope_(laminar_slope(friction.viscosity_m2_s, length_m, diameter_m)),
      hazen_williams_(0),
      speed_per_flow_(velocity_m_s(1, diameter_m)),
      still_flow_m3_s_(still_m_s / speed_per_flow_),
      minor_per_speed_2_(minor_k / (2 * gravity_m_s2)) {
  darcy_per_square_ =
      length_m / diameter_m * speed_per_flow_ * speed_per_flow_ / (2 * gravity_m_s2);
  if (law_ == FrictionLaw::hazen_williams)
    hazen_williams_ = hazen_williams_si * length_m *
                      std::pow(friction.hazen_williams_c, -hazen_williams_flow_exponent) *
                      std::pow(diameter_m, -hazen_williams_diameter_exponent);
}

/// Flow not below 0; without the multiplier.
HeadLoss PipeLoss::friction_at(double flow) const {
  const bool smooth_at_rest =
      law_ == FrictionLaw::darcy_weisbach || law_ == FrictionLaw::laminar_blasius;
  if (!smooth_at_rest && flow < still_flow_m3_s_)
    return straight_to(friction_at(still_flow_m3_s_), still_flow_m3_s_, flow);
  if (law_ == FrictionLaw::hazen_williams) {
    const double per_flow = hazen_williams_ * std::pow(flow, hazen_williams_flow_exponent - 1);
    return {per_flow * flow, per_flow * hazen_williams_flow_exponent};
  }
  const bool churchills = law_ == FrictionLaw::darcy_weisbach;
  const double reynolds = reynolds_per_flow_ * flow;
  if (smooth_at_rest && reynolds < (churchills ? churchill_laminar_below : blasius_laminar_below))
    return {laminar_slope_ * flow, laminar_slope_};
  const Factor factor = churchills ? churchill(reynolds, relative_roughness_) : blasius(reynolds);
  const double per_flow = darcy_per_square_ * factor.value * flow;
  return {per_flow * flow, per_flow * (2 + factor.exponent)};
}

HeadLoss PipeLoss::at(double flow_m3_s) const {
  const double flow = std::abs(flow_m3_s);
  HeadLoss loss = friction_at(flow);
  loss.head_m *= multiplier_;
  loss.slope_s_m2 *= multiplier_;
  if (minor_per_speed_2_ != 0) {
    const double speed = speed_per_flow_ * flow;
    const double per_speed = minor_per_speed_2_ * std::max(speed, still_m_s);
    loss.head_m += per_speed * speed;
    loss.slope_s_m2 += (speed < still_m_s ? 1 : 2) * per_speed * speed_per_flow_;
  }
  loss.head_m = std::copysign(loss.head_m, flow_m3_s);
  return loss;
}

HeadLoss head_loss(const Friction& friction, double length_m, double diameter_m, double minor_k,
                   double flow_m3_s) {
  return PipeLoss(friction, length_m, diameter_m, minor_k).at(flow_m3_s);
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
