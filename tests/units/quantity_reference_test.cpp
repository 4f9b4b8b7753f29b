// SPDX-License-Identifier: Apache-2.0
// Factors against tests/reference/unit_factors.txt, which names its source.
#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "evendrip/units/quantity.hpp"

namespace evendrip {
namespace {

std::vector<std::string> cells_of(const std::string& row) {
  std::vector<std::string> cells;
  std::istringstream stream(row);
  for (std::string cell; std::getline(stream, cell, '|');) {
    const auto first = cell.find_first_not_of(' ');
    cells.push_back(cell.substr(first, cell.find_last_not_of(' ') - first + 1));
  }
  return cells;
}

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
  std::ifstream table(EVENDRIP_TEST_DATA "/reference/unit_factors.txt");
  int rows = 0;
  for (std::string row; std::getline(table, row);) {
    if (row.empty() || row.front() == '#') continue;
    const std::vector<std::string> cells = cells_of(row);
    ASSERT_EQ(cells.size(), 4U) << row;
    const double expected = std::stod(cells[3]);
    const double found = to_canonical(std::stod(cells[2]), cells[1], dimensions.at(cells[0]));
    EXPECT_NEAR(found, expected, 5e-7 * std::max(std::abs(expected), 1e-9) + 1e-13) << row;
    ++rows;
  }
  EXPECT_GE(rows, 25);
}

// Pounds and short tons per acre from their definitions (NIST SP 811: acre 4046.873 m2, pound
// 0.45359237 kg, short ton 907.1847 kg).
TEST(UnitFactors, OfYieldFollowFromPoundAndAcre) {
  EXPECT_NEAR(to_canonical(1, "lb/ac", Dimension::yield), 0.45359237 / 4046.873 * 10, 1e-9);
  EXPECT_NEAR(to_canonical(1, "ton/ac", Dimension::yield), 907.1847 / 4046.873 * 10, 1e-6);
}

}  // namespace
}  // namespace evendrip
