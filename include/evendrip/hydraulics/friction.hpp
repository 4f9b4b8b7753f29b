// SPDX-License-Identifier: Apache-2.0
// Loss of head in a full pipe, as a value that is passed along: which law, how rough, how viscous.
#pragma once

#include <string>

namespace evendrip {

enum class FrictionLaw {
  /// Darcy-Weisbach with Churchill's factor, one smooth formula from laminar to rough flow
  /// (default). Churchill 1977, Chem. Eng. 84(24):91-92.
  darcy_weisbach,
  /// 64/Re below Re 2000, else 0.3164 Re^-0.25 (Blasius 1913), with the jump at 2000: for
  /// comparison with reference laterals that were computed so.
  laminar_blasius,
  /// 0.3164 Re^-0.25 at any Re.
  blasius,
  /// 10.66683 L Q^1.852 / (C^1.852 D^4.871) (metres, m3/s): 4.727 in feet and cubic feet a second,
  /// as EPANET 2 has it (from memory).
  hazen_williams
};
std::string to_text(FrictionLaw law);

struct Friction {
  FrictionLaw law = FrictionLaw::darcy_weisbach;
  double roughness_mm = 0.0015;
  double hazen_williams_c = 150;
  double viscosity_m2_s = 1.00355e-6;  ///< water of 20 degC
  /// Multiplies the friction (not the minor loss): what gauges say of the pipes as they are.
  double multiplier = 1;
};

/// Darcy's factor (dimensionless) of Churchill 1977; below Re 1000 it is 64/Re, which differs by
/// less than 1e-13 of its value. reynolds > 0, relative_roughness (roughness over diameter) 0 to 1.
double churchill_factor(double reynolds, double relative_roughness);

struct HeadLoss {
  double head_m = 0;      ///< sign of the flow
  double slope_s_m2 = 0;  ///< d head / d flow, above 0 also at no flow
};
/// Friction over `length_m` plus minor_k v^2/2g. Odd in the flow and rising; continuous except
/// laminar_blasius at Re 2000. Below 1e-6 m/s a straight line replaces what would lose its slope at
/// no flow (Blasius, Hazen-Williams, minor losses): there the loss is under 2e-11 m for each metre
/// of a pipe of 4 mm or more. Needs a diameter above 0 and a length or a minor_k above 0.
HeadLoss head_loss(const Friction& friction, double length_m, double diameter_m, double minor_k,
                   double flow_m3_s);

/// The same for one pipe at many flows: what does not depend on the flow is worked out once.
class PipeLoss {
 public:
  PipeLoss(const Friction& friction, double length_m, double diameter_m, double minor_k);
  HeadLoss at(double flow_m3_s) const;

 private:
  HeadLoss friction_at(double flow_m3_s) const;

  FrictionLaw law_;
  double multiplier_;
  double relative_roughness_;
  double reynolds_per_flow_;
  double laminar_slope_;      ///< of Hagen-Poiseuille, s/m2
  double darcy_per_square_;   ///< loss over factor and flow squared
  double hazen_williams_;     ///< loss over flow^1.852
  double speed_per_flow_;     ///< 1/m2
  double still_flow_m3_s_;    ///< below it, laws whose slope would vanish are straight
  double minor_per_speed_2_;  ///< k / 2g
};

double velocity_m_s(double flow_m3_s, double diameter_m);
double reynolds_number(double flow_m3_s, double diameter_m, double viscosity_m2_s);

/// Loss of a line with `outlets` equal outlets over the loss of the same line carrying its whole
/// inflow to the end; friction as flow^exponent. `first_fraction`: distance from the inlet to the
/// first outlet in spacings (1 or 0.5 are usual). outlets >= 1, exponent > 0, 0 < first_fraction <=
/// 1; else std::invalid_argument. Exact: sum over the reaches. Sum form: Christiansen 1942, with
/// the first outlet at a fraction (N F + r - 1)/(N + r - 1) (citations from memory).
double multiple_outlet_factor(int outlets, double exponent, double first_fraction = 1);
/// 1/(m+1) + 1/(2N) + sqrt(m-1)/(6 N^2); first outlet one spacing from the inlet. Christiansen
/// 1942 (from memory). outlets >= 1, exponent m >= 1; else std::invalid_argument.
double christiansen_factor(int outlets, double exponent);
/// [2N/(2N-1)] [1/(m+1) + sqrt(m-1)/(6 N^2)]; first outlet half a spacing from the inlet. Jensen &
/// Fratini 1957, Agric. Eng. 38:247 (from memory). Same domain.
double jensen_fratini_factor(int outlets, double exponent);

}  // namespace evendrip
