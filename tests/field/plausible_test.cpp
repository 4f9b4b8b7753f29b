// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/plausible.hpp"

#include <limits>

#include <gtest/gtest.h>

namespace evendrip {
namespace {

const PlausibleRange pressures{
    Dimension::pressure, 3, 1500, 30, 450, {{"kPa", "psi"}, {"kPa", "bar"}, {"psi", "kPa"}}};

TEST(Implausible, LetsUsualValuesPass) {
  EXPECT_FALSE(implausible(30, pressures, {}, ""));
  EXPECT_FALSE(implausible(450, pressures, {}, ""));
}

TEST(Implausible, DoubtsUnusualValuesAndRefusesImpossibleOnes) {
  EXPECT_EQ(implausible(1400, pressures, {}, "")->severity, Severity::doubt);
  EXPECT_EQ(implausible(1600, pressures, {}, "")->severity, Severity::problem);
  EXPECT_EQ(implausible(std::numeric_limits<double>::quiet_NaN(), pressures, {}, "")->severity,
            Severity::problem);
}

TEST(Implausible, NamesTheUnitThatWasPerhapsMeant) {
  const auto doubt = implausible(15, pressures, {}, "15 kPa");
  EXPECT_EQ(doubt->code, "wrong_unit");
  EXPECT_NE(doubt->text.find("psi was meant where kPa is written"), std::string::npos);
}

TEST(SlipOf, FindsTheFirstSlipThatFits) {
  EXPECT_EQ(slip_of(1.0, pressures)->meant, "bar");
  EXPECT_EQ(slip_of(700, pressures)->meant, "kPa");
  EXPECT_FALSE(slip_of(1e9, pressures));
}

}  // namespace
}  // namespace evendrip
