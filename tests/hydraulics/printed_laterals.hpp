// SPDX-License-Identifier: Apache-2.0
// How tests read the printed laterals of tests/reference/laterals.txt, which names its source.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <string>

#include "evendrip/hydraulics/friction.hpp"

namespace evendrip::test {

/// The references have the constant of Hazen-Williams in metres rounded to 10.667.
inline const double printed_hazen_williams = 10.667 / (4.727 * std::pow(0.3048, 4.871 - 3 * 1.852));

inline FrictionLaw law_of(const std::string& name) {
  return std::map<std::string, FrictionLaw>{{"hazen_williams", FrictionLaw::hazen_williams},
                                            {"laminar_blasius", FrictionLaw::laminar_blasius},
                                            {"blasius", FrictionLaw::blasius}}
      .at(name);
}

/// Half a unit of the last digit of a printed number, and a little for its own rounding.
inline double half_digit(const std::string& printed) {
  const auto point = printed.find('.');
  const auto decimals = point == std::string::npos ? 0 : printed.size() - point - 1;
  return 0.501 * std::pow(10.0, -static_cast<double>(decimals));
}

inline void expect_printed(double found, const std::string& printed) {
  EXPECT_NEAR(found, std::stod(printed), half_digit(printed));
}

}  // namespace evendrip::test
