// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/friction.hpp"

#include "evendrip/hydraulics/water.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

constexpr double pi = 3.14159265358979323846;

std::vector<FrictionLaw> laws() {
  return {FrictionLaw::darcy_weisbach, FrictionLaw::laminar_blasius, FrictionLaw::blasius,
          FrictionLaw::hazen_williams};
}

Friction with_law(FrictionLaw law) {
  Friction friction;
  friction.law = law;
  return friction;
}

/// Flow in a 16 mm pipe.
double flow_of_reynolds(double reynolds) {
  return reynolds * Friction{}.viscosity_m2_s * pi / 4 * 0.016;
}

/// From far below the straight line near no flow to beyond any pipe.
std::vector<double> rising_flows() {
  std::vector<double> flows;
  for (double flow = 1e-16; flow < 1; flow *= 1.09) flows.push_back(flow);
  return flows;
}

TEST(HeadLoss, IsOddInTheFlow) {
  for (const FrictionLaw law : laws())
    for (const double flow : rising_flows()) {
      const HeadLoss forward = head_loss(with_law(law), 0.5, 0.016, 0.3, flow);
      const HeadLoss backward = head_loss(with_law(law), 0.5, 0.016, 0.3, -flow);
      EXPECT_EQ(forward.head_m, -backward.head_m) << to_text(law) << ' ' << flow;
      EXPECT_EQ(forward.slope_s_m2, backward.slope_s_m2) << to_text(law) << ' ' << flow;
    }
}

TEST(HeadLoss, RisesWithTheFlow) {
  for (const FrictionLaw law : laws())
    for (const double minor_k : {0.0, 1.0}) {
      double before = head_loss(with_law(law), 0.5, 0.016, minor_k, 0).head_m;
      EXPECT_EQ(before, 0);
      for (const double flow : rising_flows()) {
        const HeadLoss loss = head_loss(with_law(law), 0.5, 0.016, minor_k, flow);
        EXPECT_GT(loss.head_m, before) << to_text(law) << ' ' << flow;
        EXPECT_GT(loss.slope_s_m2, 0) << to_text(law) << ' ' << flow;
        before = loss.head_m;
      }
    }
}

TEST(HeadLoss, RisesInFineStepsThroughTheTransition) {
  for (const double roughness_mm : {0.0, 0.0015, 0.1, 2.0}) {
    Friction friction;
    friction.roughness_mm = roughness_mm;
    double before = 0;
    for (double reynolds = 900; reynolds < 1e5; reynolds *= 1.0001) {
      const double head = head_loss(friction, 1, 0.016, 0, flow_of_reynolds(reynolds)).head_m;
      EXPECT_GT(head, before) << reynolds;
      before = head;
    }
  }
}

TEST(HeadLoss, ItsSlopeIsTheCentralDifference) {
  for (const FrictionLaw law : laws())
    for (const double minor_k : {0.0, 0.7})
      for (double reynolds = 0.1; reynolds < 1e6; reynolds *= 1.37) {
        const double flow = flow_of_reynolds(reynolds);
        const double step = 1e-5 * flow;
        const Friction friction = with_law(law);
        const double above = head_loss(friction, 0.5, 0.016, minor_k, flow + step).head_m;
        const double below = head_loss(friction, 0.5, 0.016, minor_k, flow - step).head_m;
        const double slope = head_loss(friction, 0.5, 0.016, minor_k, flow).slope_s_m2;
        EXPECT_NEAR((above - below) / (2 * step) / slope, 1, 1e-8)
            << to_text(law) << " at Reynolds number " << reynolds;
      }
}

TEST(HeadLoss, ItsSlopeAtNoFlowIsAboveZero) {
  for (const FrictionLaw law : laws()) {
    const double slope = head_loss(with_law(law), 0.5, 0.016, 0, 0).slope_s_m2;
    EXPECT_GT(slope, 0) << to_text(law);
    EXPECT_TRUE(std::isfinite(slope)) << to_text(law);
    const double tiny = 1e-15;
    EXPECT_NEAR(head_loss(with_law(law), 0.5, 0.016, 0, tiny).head_m / tiny / slope, 1, 1e-9);
  }
  EXPECT_GT(head_loss(with_law(FrictionLaw::blasius), 0, 0.016, 2, 0).slope_s_m2, 0);
}

TEST(HeadLoss, TheStraightLineNearNoFlowChangesNothingThatIsRead) {
  for (const FrictionLaw law : {FrictionLaw::blasius, FrictionLaw::hazen_williams})
    for (const double diameter : {0.004, 0.016, 0.1}) {
      const double still = 1e-6 * pi / 4 * diameter * diameter;
      EXPECT_LT(head_loss(with_law(law), 1, diameter, 1, still).head_m, 2e-11) << to_text(law);
      const double below = head_loss(with_law(law), 1, diameter, 1, still * (1 - 1e-12)).head_m;
      const double above = head_loss(with_law(law), 1, diameter, 1, still * (1 + 1e-12)).head_m;
      EXPECT_NEAR(below / above, 1, 1e-11) << to_text(law);
    }
}

TEST(HeadLoss, MinorLossIsItsShareOfTheVelocityHead) {
  const double flow = 1e-4;
  const double speed = velocity_m_s(flow, 0.016);
  for (const FrictionLaw law : laws()) {
    const double without = head_loss(with_law(law), 3, 0.016, 0, flow).head_m;
    const double with = head_loss(with_law(law), 3, 0.016, 1.7, flow).head_m;
    EXPECT_NEAR(with - without, 1.7 * speed * speed / (2 * gravity_m_s2), 1e-12) << to_text(law);
  }
}

TEST(HeadLoss, TheMultiplierIsOnTheFrictionAlone) {
  for (const FrictionLaw law : laws()) {
    Friction doubled = with_law(law);
    doubled.multiplier = 2;
    const HeadLoss plain = head_loss(with_law(law), 3, 0.016, 0, 1e-4);
    const HeadLoss twice = head_loss(doubled, 3, 0.016, 0, 1e-4);
    EXPECT_DOUBLE_EQ(twice.head_m, 2 * plain.head_m);
    EXPECT_DOUBLE_EQ(twice.slope_s_m2, 2 * plain.slope_s_m2);
    const double minor = head_loss(doubled, 3, 0.016, 1, 1e-4).head_m - twice.head_m;
    EXPECT_NEAR(minor, head_loss(with_law(law), 3, 0.016, 1, 1e-4).head_m - plain.head_m, 1e-12);
  }
}

TEST(HeadLoss, GrowsWithTheLengthOfThePipe) {
  for (const FrictionLaw law : laws())
    EXPECT_NEAR(head_loss(with_law(law), 7, 0.016, 0, 3e-5).head_m,
                7 * head_loss(with_law(law), 1, 0.016, 0, 3e-5).head_m, 1e-12);
}

TEST(HeadLoss, IsTheDarcyFormulaWithChurchillsFactor) {
  for (const double reynolds : {300.0, 2500.0, 20000.0}) {
    const double flow = flow_of_reynolds(reynolds);
    const double speed = velocity_m_s(flow, 0.016);
    const double factor = churchill_factor(reynolds, 0.0015 / 16);
    EXPECT_NEAR(head_loss(Friction{}, 12, 0.016, 0, flow).head_m /
                    (factor * 12 / 0.016 * speed * speed / (2 * gravity_m_s2)),
                1, 1e-12);
  }
}

TEST(HeadLoss, JumpsUpWhereTheSwitchedLawTurnsTurbulent) {
  const Friction friction = with_law(FrictionLaw::laminar_blasius);
  const double below = head_loss(friction, 1, 0.016, 0, flow_of_reynolds(1999.999)).head_m;
  const double above = head_loss(friction, 1, 0.016, 0, flow_of_reynolds(2000.001)).head_m;
  EXPECT_NEAR(above / below, 0.3164 / std::pow(2000, 0.25) / (64.0 / 2000), 1e-5);
}

TEST(ChurchillFactor, IsTheFormulaAsItIsPrinted) {
  for (const double roughness : {0.0, 1e-4, 1e-2})
    for (double reynolds = 10; reynolds < 1e8; reynolds *= 1.01) {
      const double a =
          std::pow(2.457 * std::log(1 / (std::pow(7 / reynolds, 0.9) + 0.27 * roughness)), 16);
      const double b = std::pow(37530 / reynolds, 16);
      const double printed =
          8 * std::pow(std::pow(8 / reynolds, 12) + std::pow(a + b, -1.5), 1.0 / 12);
      EXPECT_NEAR(churchill_factor(reynolds, roughness) / printed, 1, 1e-13) << reynolds;
    }
}

TEST(ChurchillFactor, IsContinuousWhereTheLaminarFormulaTakesOver) {
  for (const double roughness : {0.0, 1e-4, 0.05}) {
    const double below = churchill_factor(1000 * (1 - 1e-14), roughness);
    const double at = churchill_factor(1000, roughness);
    EXPECT_NEAR(at / below, 1, 1e-13);
  }
}

TEST(ChurchillFactor, RoughPipesResistMore) {
  for (const double reynolds : {5e3, 1e5, 1e7})
    EXPECT_GT(churchill_factor(reynolds, 1e-2), churchill_factor(reynolds, 1e-5));
}

TEST(Flow, VelocityAndReynoldsNumberOfAKnownPipe) {
  EXPECT_NEAR(velocity_m_s(pi / 4, 1), 1, 1e-15);
  EXPECT_NEAR(reynolds_number(pi / 4 * 0.01, 0.1, 1e-6), 1e5, 1e-7);
}

TEST(FrictionLaws, HaveNamesOfTheirOwn) {
  std::set<std::string> names;
  for (const FrictionLaw law : laws()) names.insert(to_text(law));
  EXPECT_EQ(names.size(), laws().size());
  EXPECT_EQ(to_text(FrictionLaw::darcy_weisbach), "darcy_weisbach");
}

TEST(MultipleOutletFactor, OfOneOutletIsOne) {
  for (const double fraction : {0.1, 0.5, 1.0})
    EXPECT_NEAR(multiple_outlet_factor(1, 1.852, fraction), 1, 1e-15);
}

TEST(MultipleOutletFactor, OfManyOutletsTendsToTheIntegral) {
  for (const double exponent : {1.0, 1.75, 1.852, 2.0})
    EXPECT_NEAR(multiple_outlet_factor(200000, exponent), 1 / (exponent + 1), 3e-6);
}

TEST(MultipleOutletFactor, OutsideItsDomainIsRefused) {
  EXPECT_THROW(multiple_outlet_factor(0, 1.75), std::invalid_argument);
  EXPECT_THROW(multiple_outlet_factor(10, 0), std::invalid_argument);
  EXPECT_THROW(multiple_outlet_factor(10, -1), std::invalid_argument);
  EXPECT_THROW(multiple_outlet_factor(10, 1.75, 0), std::invalid_argument);
  EXPECT_THROW(multiple_outlet_factor(10, 1.75, 1.01), std::invalid_argument);
  EXPECT_THROW(multiple_outlet_factor(10, std::nan("")), std::invalid_argument);
  EXPECT_THROW(christiansen_factor(0, 1.75), std::invalid_argument);
  EXPECT_THROW(christiansen_factor(5, 0.9), std::invalid_argument);
  EXPECT_THROW(jensen_fratini_factor(0, 1.75), std::invalid_argument);
  EXPECT_THROW(jensen_fratini_factor(5, std::nan("")), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
