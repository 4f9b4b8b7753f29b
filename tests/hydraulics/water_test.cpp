// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/water.hpp"

#include "evendrip/hydraulics/friction.hpp"

#include <gtest/gtest.h>

#include <limits>
#include <stdexcept>

namespace evendrip {
namespace {

TEST(Water, WarmerWaterFlowsEasier) {
  for (int degrees = 0; degrees < 60; ++degrees)
    EXPECT_GT(kinematic_viscosity_m2_s(degrees), kinematic_viscosity_m2_s(degrees + 1));
}

TEST(Water, IsDensestAtFourDegrees) {
  for (const double degrees : {0.0, 2.0, 3.0, 5.0, 6.0, 20.0, 60.0})
    EXPECT_LT(density_kg_m3(degrees), density_kg_m3(4)) << degrees;
}

TEST(Water, TheViscosityOfAPipeThatIsNotToldIsThatOfTwentyDegrees) {
  EXPECT_NEAR(Friction{}.viscosity_m2_s, kinematic_viscosity_m2_s(20), 1e-11);
}

TEST(Water, TemperaturesOutsideTheFormulaAreRefused) {
  const double not_a_number = std::numeric_limits<double>::quiet_NaN();
  for (const double degrees : {-0.1, 60.1, not_a_number}) {
    EXPECT_THROW(kinematic_viscosity_m2_s(degrees), std::invalid_argument) << degrees;
    EXPECT_THROW(density_kg_m3(degrees), std::invalid_argument) << degrees;
  }
}

TEST(Water, PressureAsHeightGoesBothWays) {
  EXPECT_NEAR(head_m(98.0665), 10, 1e-12);
  EXPECT_NEAR(pressure_kpa(10), 98.0665, 1e-12);
}

}  // namespace
}  // namespace evendrip
