// SPDX-License-Identifier: Apache-2.0
// Factors against tests/reference/unit_factors.txt, which names its source.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "evendrip/units/quantity.hpp"
#include "reference_table.hpp"

namespace evendrip {
namespace {

TEST(UnitFactors, AgreeWithThePublishedTable) {
  const std::map<std::string, Dimension> dimensions{{"discharge", Dimension::discharge},
                                                    {"pressure", Dimension::pressure},
                                                    {"length", Dimension::length},
                                                    {"volume", Dimension::volume},
                                                    {"mass", Dimension::mass},
                                                    {"time", Dimension::time},
                                                    {"area", Dimension::area},
                                                    {"depth", Dimension::depth},
                                                    {"velocity", Dimension::velocity},
                                                    {"temperature", Dimension::temperature},
                                                    {"depth_rate", Dimension::depth_rate}};
  const auto rows = test::reference_table("unit_factors.txt");
  for (const auto& cells : rows) {
    SCOPED_TRACE(cells[0] + " " + cells[1]);
    ASSERT_EQ(cells.size(), 4U);
    const double expected = std::stod(cells[3]);
    const double found = to_canonical(std::stod(cells[2]), cells[1], dimensions.at(cells[0]));
    EXPECT_NEAR(found, expected, 5e-7 * std::max(std::abs(expected), 1e-9) + 1e-13);
  }
  EXPECT_GE(rows.size(), 25U);
}

// Pounds and short tons per acre from their definitions (NIST SP 811: acre 4046.873 m2, pound
// 0.45359237 kg, short ton 907.1847 kg).
TEST(UnitFactors, OfYieldFollowFromPoundAndAcre) {
  EXPECT_NEAR(to_canonical(1, "lb/ac", Dimension::yield), 0.45359237 / 4046.873 * 10, 1e-9);
  EXPECT_NEAR(to_canonical(1, "ton/ac", Dimension::yield), 907.1847 / 4046.873 * 10, 1e-6);
}

}  // namespace
}  // namespace evendrip
